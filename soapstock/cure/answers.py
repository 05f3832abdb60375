"""Answers a maker asks of a forecast: when to weigh next, what to declare, how long it holds.

All are readings of one forecast (cure/model.py); nothing new is assumed. Random draws are seeded,
so the same facts give the same answer.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from soapstock.cure.batch import weigh_error
from soapstock.cure.many import HORIZON_DAYS, WEEK_DAYS
from soapstock.cure.model import DaysInterval, Forecast
from soapstock.cure.outlook import masses
from soapstock.cure.posterior import curve_at
from soapstock.cure.prior import table

Floats = NDArray[np.float64]

SURE = 0.95
KEPT = table("promise")["model_chance"]  # asked of the model, so that 95 % of the batches keep it
_DRAWS = 600
_SEED = 20261125


@dataclass(frozen=True, slots=True, kw_only=True)
class NextWeighIn:
    """The weigh-in that would narrow the dry date most.

    Attributes:
        day: days after pour.
        spread_now_days: standard deviation of the dry day as it is known now.
        spread_then_days: the same, expected after that weigh-in.
    """

    day: float
    spread_now_days: float
    spread_then_days: float


def chance_ready(
    forecast: Forecast, day: float, *, cure_days: float, week_loss_percent: float = 1.0
) -> float:
    """Chance that by a day both the cure days are over and the bar is dry."""
    if day < cure_days:
        return 0.0
    return forecast.chance_dry(day, week_loss_percent)


def highest_declared_g(
    forecast: Forecast, *, pack_day: float, until_day: float | None, chance: float = KEPT
) -> float:
    """Highest weight, g, that the mean bar holds at packing and until a day with a given chance.

    Args:
        forecast: of the batch.
        pack_day: day after pour of packing.
        until_day: best-before as a day after pour; None takes the end of drying.
        chance: how surely it must hold, at each of the two.
    """
    end = HORIZON_DAYS + forecast.start.day if until_day is None else max(pack_day, until_day)
    points = forecast.quantile_points([pack_day, end], [1.0 - chance])
    return float(points.min())


def day_under(forecast: Forecast, declared_g: float) -> DaysInterval | None:
    """When the mean bar drops under a weight, in days after the pour.

    `early` is how long a promise of that weight holds, as surely as `highest_declared_g` asks;
    `expected` and `late` are the days with a chance of 50 and 95 % that it is under. None when the
    promise holds for two years; a day that never comes within two years
    is given as two years.
    """
    start = forecast.start.day
    days = start + np.concatenate([[0.0], np.geomspace(1.0, HORIZON_DAYS, 90)])
    under = np.array([1.0 - c for c in forecast.chances_at_least(declared_g, days)])
    rising = np.maximum.accumulate(under)
    if rising[-1] < 1.0 - KEPT:
        return None
    ramp = rising + np.linspace(0.0, 1e-9, len(rising))
    early, expected, late = np.interp([1.0 - KEPT, 0.5, SURE], ramp, days).tolist()
    return DaysInterval(early=early, expected=expected, late=late)


def next_weigh_in(
    forecast: Forecast,
    today: float,
    *,
    week_loss_percent: float = 1.0,
    bars: int | None = None,
    within_days: int = 21,
) -> NextWeighIn | None:
    """The day from tomorrow on whose weigh-in would narrow the dry date most.

    Draws curves from the posterior, each with its dry day and its masses, and takes the day whose
    mass (with weather and weighing error) goes most with the dry day; the spread left is that of
    linear regression. Among days nearly as good the earliest is taken.

    Args:
        forecast: of the batch.
        today: days after pour.
        week_loss_percent: what dry means.
        bars: how many would be weighed; None takes as many as at the start.
        within_days: how far ahead to look.

    Returns:
        None when the dry date is past or already known to half a day.
    """
    ahead = np.floor(today) + np.arange(1.0, within_days + 1.0)
    dry, seen = _draws(forecast, ahead, week_loss_percent)
    spread = float(dry.std())
    if spread < 0.5 or np.mean(dry <= today) > SURE:  # noqa: PLR2004 - half a day
        return None
    error = _reading_error(forecast, ahead, bars)
    with np.errstate(invalid="ignore", divide="ignore"):
        together = ((seen - seen.mean(0)) * (dry - dry.mean())[:, None]).mean(0)
        share = np.nan_to_num(together**2 / (dry.var() * (seen.var(0) + error)))
    best = int(np.argmax(share >= share.max() - 0.02))
    return NextWeighIn(
        day=float(ahead[best]),
        spread_now_days=spread,
        spread_then_days=spread * float(np.sqrt(max(0.0, 1.0 - share[best]))),
    )


def _draws(forecast: Forecast, ahead: Floats, week_loss_percent: float) -> tuple[Floats, Floats]:
    """Drawn dry days [draws], and trend masses on the days ahead [draws, days], as shares."""
    rng = np.random.default_rng(_SEED)
    posterior = forecast.posterior
    weight = posterior.weight[0]
    part = rng.choice(weight.size, size=_DRAWS, p=weight.reshape(-1) / weight.sum())
    hypothesis, rate = np.unravel_index(part, weight.shape)
    zero = np.zeros_like(hypothesis)
    mean, cov = posterior.moments((zero, hypothesis, rate))
    root = np.linalg.cholesky(cov)
    bends = mean + (root @ rng.normal(size=(_DRAWS, mean.shape[1], 1)))[..., 0]

    def mass(elapsed: Floats) -> Floats:
        share, levers = curve_at(posterior.stack, elapsed[None, :])
        moved = np.einsum("nip,ip->in", levers[0][:, rate], bends)
        return np.asarray(share[0][:, rate].T + moved)

    nodes = np.geomspace(0.5, HORIZON_DAYS, 140)
    under = mass(nodes) * (1.0 - week_loss_percent / 100.0) <= mass(nodes + WEEK_DAYS)
    first_dry = np.where(under.any(1), nodes[np.argmax(under, axis=1)], HORIZON_DAYS)
    elapsed = np.maximum(ahead - forecast.start.day, 0.0)
    return forecast.start.day + first_dry, mass(elapsed)


def _reading_error(forecast: Forecast, ahead: Floats, bars: int | None) -> Floats:
    """Variance of a reading about the curve on each day ahead: weather, start error, weighing."""
    start = forecast.start
    count = bars or start.bars or 1
    weighing = weigh_error(start, count)
    elapsed = np.maximum(ahead - start.day, 0.0)[None, :]
    weight = forecast.posterior.weight[0]
    _, variance = masses(forecast.posterior, elapsed)
    inside = np.einsum("hj,hnj->n", weight, variance[0])
    return np.asarray(inside + weighing**2)


def losses_percent(forecast: Forecast, today: float) -> tuple[float, float]:
    """Loss so far, and still to come, percent of the start mass (middle estimates)."""
    so_far = forecast.loss_percent_at(today).nominal
    whole = forecast.loss_percent_at(forecast.start.day + HORIZON_DAYS).nominal
    return so_far, max(0.0, whole - so_far)


def chances_by_day(
    forecast: Forecast, days: Sequence[float], *, cure_days: float, week_loss_percent: float
) -> list[float]:
    """chance_ready for several days, never falling from one to the next."""
    chances = forecast.chances_dry(days, week_loss_percent)
    risen = np.maximum.accumulate(np.where(np.asarray(days) >= cure_days, chances, 0.0))
    return [float(chance) for chance in risen]
