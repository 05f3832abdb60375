"""What looks odd about a batch's drying, each finding with what to look at."""

from __future__ import annotations

import re
from collections.abc import Sequence

import numpy as np

from soapstock.cure.batch import BatchStart, WeighIn
from soapstock.cure.mixture import chance_below, quantiles
from soapstock.cure.outlook import masses
from soapstock.cure.posterior import Posterior
from soapstock.cure.prior import Prior
from soapstock.errors import Problem, Severity

Read = tuple[WeighIn, float]  # a reading and its error, as a share of the start mass

ODD_CHANCE = 0.5  # more likely wrong than right
OUTSIDE = np.array([0.05, 0.95])  # like batches lie between in nine cases of ten
GAIN_SDS = 3.0  # a rise this many standard deviations of weighing is no weighing error
MORE_THAN_POURED = 1.02  # no bar can be heavier than its share of the batter
WATER_SDS = 1.5  # end moisture this far off what is usual, by readings that settle it
WATER_DAYS = 28.0  # earlier a slow bar and a wet one look alike
HIGH_WATER = 0.45  # more water than any lye a bar recipe uses can bring


def find_alarms(
    start: BatchStart,
    weigh_ins: Sequence[WeighIn],
    prior: Prior,
    posterior: Posterior,
    expected: Posterior,
) -> tuple[Problem, ...]:
    """All alarms of a batch.

    Args:
        start: where drying began.
        weigh_ins: readings in order of day, none before the start.
        prior: what is expected of it.
        posterior: after the readings, a stack of one.
        expected: before the readings, a stack of one.
    """
    odd = odd_readings(posterior)
    sound = [k for k in range(len(weigh_ins)) if k not in odd]
    errors = posterior.stack.noise[0].tolist()
    found = [*_start_alarms(start, list(zip(weigh_ins, errors, strict=True)), prior)]
    found += [_odd_alarm(start, weigh_ins[k], posterior, k) for k in odd]
    found += _gain_alarms(start, [(weigh_ins[k], errors[k]) for k in sound])
    if sound:
        last = sound[-1]
        pace = _pace_alarms(start, weigh_ins[last], errors[last], prior, expected)
        # A slow bar looks like one that ends wetter; its own alarm says to look at the water too.
        slow = any(problem.rule == "damp" for problem in pace)
        found += pace if slow else [*pace, *_water_alarms(start, prior, posterior)]
    return tuple(found)


def odd_readings(posterior: Posterior) -> list[int]:
    """Places of readings that are more likely wrong than right (one at most)."""
    return [k for k, chance in enumerate(posterior.wrong[0]) if chance > ODD_CHANCE]


def _start_alarms(start: BatchStart, readings: Sequence[Read], prior: Prior) -> list[Problem]:
    found = []
    end = prior.end_percent_mean
    if start.water_fraction > HIGH_WATER:
        found.append(
            _problem(
                "start",
                f"start water {100 * start.water_fraction:.0f} % of the bar is more than any bar "
                "recipe brings; look at the water and the masses entered for the pour",
            )
        )
    elif 100.0 * start.water_fraction < end:
        found.append(
            _problem(
                "start",
                f"start water {100 * start.water_fraction:.1f} % of the bar is below the usual "
                f"end moisture of {end:.0f} %: the bar may gain; look at the water entered for the "
                "pour",
                "note",
            )
        )
    poured = start.poured_per_bar_g
    if poured is not None and start.mass_per_bar_g > poured * MORE_THAN_POURED:
        found.append(
            _problem(
                "start",
                f"{start.mass_per_bar_g:.1f} g a bar at unmoulding is more than the {poured:.1f} g "
                "poured for each; look at the mass and the bars counted, rejects too",
                "error",
            )
        )
    for reading, error in readings:
        slack = 1.0 - 3.0 * error
        if reading.per_bar_g < start.dry_mass_g * slack:
            found.append(
                _problem(
                    f"bone-dry, day {reading.day:g}",
                    f"{reading.per_bar_g:.1f} g a bar is below its bone-dry mass "
                    f"{start.dry_mass_g:.1f} g; look at the number of bars, the start mass and the "
                    "water of the pour",
                    "error",
                )
            )
    return found


def _water_alarms(start: BatchStart, prior: Prior, posterior: Posterior) -> list[Problem]:
    """The end moisture the readings ask for against what any bar ends at."""
    if posterior.stack.t[0].max() < WATER_DAYS:
        return []
    weight = posterior.weight[0]
    mean, cov = posterior.moments()
    dry = 1.0 - start.water_fraction
    end = 100.0 * (1.0 - dry / mean[0, ..., 0])
    sd = 100.0 * dry / mean[0, ..., 0] ** 2 * np.sqrt(cov[0, ..., 0, 0])
    middle = float((weight * end).sum())
    spread = float(np.sqrt((weight * (sd**2 + (end - middle) ** 2)).sum()))
    off = middle - prior.end_percent_mean
    if abs(off) <= WATER_SDS * prior.end_percent_sd or spread > 0.8 * prior.end_percent_sd:
        return []
    less_or_more = "less" if off > 0 else "more"
    return [
        _problem(
            "water",
            f"the readings end at {middle:.0f} % moisture, where {prior.end_percent_mean:.0f} % is "
            f"usual: the batter may have held {less_or_more} water than entered; look at the water "
            "and lye of the pour, and at the start mass",
        )
    ]


def _odd_alarm(start: BatchStart, reading: WeighIn, posterior: Posterior, k: int) -> Problem:
    elapsed = np.array([[reading.day - start.day]])
    mean, _ = masses(posterior, elapsed)
    left_out = slice(k + 1, None, posterior.stack.y.shape[1] + 1)
    weight = posterior.weight[0, left_out]
    usual = float((weight * mean[0, left_out, 0]).sum() / weight.sum()) * start.mass_per_bar_g
    last_and_high = k == posterior.stack.y.shape[1] - 1 and reading.per_bar_g > usual
    damp = ", or, if the next one is high too, at the room's damp" if last_and_high else ""
    return _problem(
        f"odd reading, day {reading.day:g}",
        f"{reading.per_bar_g:.1f} g a bar does not fit the other readings (about {usual:.1f} g); "
        f"it is set aside: weigh again, and look at the bars counted and the scale{damp}",
    )


def _gain_alarms(start: BatchStart, readings: Sequence[Read]) -> list[Problem]:
    before, error_before = start.mass_per_bar_g, 0.0
    found = []
    for reading, error in readings:
        rise = (reading.per_bar_g - before) / start.mass_per_bar_g
        if rise > GAIN_SDS * float(np.hypot(error, error_before)):
            found.append(
                _problem(
                    f"gained, day {reading.day:g}",
                    f"a bar rose from {before:.1f} to {reading.per_bar_g:.1f} g: it takes up damp, "
                    "or other bars were weighed; look at the room's air and the bars counted",
                )
            )
        before, error_before = reading.per_bar_g, error
    return found


def _pace_alarms(
    start: BatchStart, reading: WeighIn, error: float, prior: Prior, expected: Posterior
) -> list[Problem]:
    """Slower (damp) or faster than expected, by the last sound reading."""
    mean, variance = masses(expected, np.array([[reading.day - start.day]]))
    parts = (
        expected.weight[0].reshape(-1),
        mean[0, :, 0].reshape(-1),
        variance[0, :, 0].reshape(-1) + error**2,
    )
    lighter = chance_below(np.array(reading.per_bar_g / start.mass_per_bar_g), *parts)
    if OUTSIDE[0] <= lighter <= OUTSIDE[1]:
        return []
    low, high = quantiles(OUTSIDE, *parts)
    low_g, high_g = low * start.mass_per_bar_g, high * start.mass_per_bar_g
    others = "batches like it" if prior.batches else "usual bars"
    between = f"on day {reading.day:g}; {others} weigh {low_g:.1f} to {high_g:.1f} g then"
    if lighter > OUTSIDE[1]:
        return [
            _problem(
                "damp",
                f"dries slowly: {reading.per_bar_g:.1f} g a bar {between}; look at the room's "
                "damp, the air between the bars, and the water of the pour",
            )
        ]
    return [
        _problem(
            "fast",
            f"dries fast: {reading.per_bar_g:.1f} g a bar {between}; look at heat or draught on "
            "the rack, the bars counted, and the start mass",
            "note",
        )
    ]


def _problem(where: str, message: str, severity: Severity = "warning") -> Problem:
    rule = re.split(", | day", where, maxsplit=1)[0]
    return Problem(where=where, message=message, rule=rule, severity=severity)
