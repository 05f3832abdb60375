"""The forecast of a batch: what a bar weighs on any day, how dry it is, when it is dry enough.

The bar's water leaves down to its end moisture by Fick's law (cure/drying.py) or, as likely
beforehand, at two rates, skin and core (cure/curves.py); what is not known, the weigh-ins teach
(cure/posterior.py); before them the prior speaks (cure/prior.py). Days count from the pour. Mass is
grams per bar; intervals run from the 5 % to the 95 % point with the median between. No answer
about mass goes below the bone-dry mass.

Validity: bars in open air from hour one to two years. What no published data exist for: the
diffusivity of water in cold-process soap, its moisture against humidity, and any weight-by-day
table. The prior is therefore weak and ours, and a shop's own finished batches replace it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from soapstock.chemistry.interval import Interval
from soapstock.cure.alarms import find_alarms, odd_readings
from soapstock.cure.batch import BatchStart, WeighIn
from soapstock.cure.many import HORIZON_DAYS, WEEK_DAYS, crossings
from soapstock.cure.mixture import chance_below, quantiles
from soapstock.cure.outlook import masses, trends
from soapstock.cure.posterior import Posterior
from soapstock.cure.prior import WEAK_PRIOR, Prior
from soapstock.cure.stack import learn_all
from soapstock.errors import Problem

__all__ = [
    "WEAK_PRIOR",
    "BatchStart",
    "DaysInterval",
    "Forecast",
    "Prior",
    "WeighIn",
    "forecast",
    "forecasts",
]

Floats = NDArray[np.float64]

LOW_MID_HIGH = np.array([0.05, 0.5, 0.95])


@dataclass(frozen=True, slots=True, kw_only=True)
class DaysInterval:
    """Days after pour: 5 %, 50 % and 95 % points. A day past two years is given as two years."""

    early: float
    expected: float
    late: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Forecast:
    """What is known of one batch's drying; make it with `forecast` or `forecasts`.

    One batch with the same readings and prior is the same object as long as it is kept.

    Attributes:
        start: where drying began.
        weigh_ins: its readings, in order of day.
        prior: what was believed before them.
        posterior: what is believed after them (a stack of one batch).
        alarms: what looks odd; each says what to look at.
    """

    start: BatchStart
    weigh_ins: tuple[WeighIn, ...]
    prior: Prior
    posterior: Posterior
    alarms: tuple[Problem, ...]

    def odd_readings(self) -> tuple[int, ...]:
        """Places in weigh_ins of readings set aside as more likely wrong than right."""
        return tuple(odd_readings(self.posterior))

    def _elapsed(self, days: Sequence[float] | Floats) -> Floats:
        return np.maximum(np.asarray(days, dtype=np.float64) - self.start.day, 0.0)[None, :]

    def mass_points(self, days: Sequence[float] | Floats) -> Floats:
        """5, 50 and 95 % points of the mass of a bar, g, on each day: [days, 3]."""
        return self.quantile_points(days, LOW_MID_HIGH)

    def quantile_points(
        self, days: Sequence[float] | Floats, chances: Sequence[float] | Floats
    ) -> Floats:
        """Quantiles of the mass of a bar, g, on each day: [days, chances]."""
        mean, variance = masses(self.posterior, self._elapsed(days))
        levels = np.asarray(chances, dtype=np.float64)
        points = quantiles(levels, *_parts(self.posterior, mean, variance))
        floor = 1.0 - self.start.water_fraction
        return np.maximum(points, floor) * self.start.mass_per_bar_g

    def mass_at(self, day: float) -> Interval:
        """Mass of a bar, g, on a day; a day before unmoulding counts as unmoulding."""
        return _interval(self.mass_points([day])[0])

    def final_mass(self) -> Interval:
        """Mass of a bar, g, when drying has ended (at the two-year horizon)."""
        return self.mass_at(self.start.day + HORIZON_DAYS)

    def loss_percent_at(self, day: float) -> Interval:
        """Loss since the start, percent of the start mass; negative is gain."""
        low, mid, high = (self.mass_points([day])[0] / self.start.mass_per_bar_g).tolist()
        return Interval(
            low=100.0 * (1.0 - high), nominal=100.0 * (1.0 - mid), high=100.0 * (1.0 - low)
        )

    def water_fraction_at(self, day: float) -> Interval:
        """Water as a fraction of the bar's mass on that day."""
        low, mid, high = self.mass_points([day])[0].tolist()
        dry = self.start.dry_mass_g
        return Interval(low=1.0 - dry / low, nominal=1.0 - dry / mid, high=1.0 - dry / high)

    def week_loss_percent(self, day: float) -> Interval:
        """Loss expected in the week from that day, percent of the bar's mass then.

        Of the drying itself; what the weather does on top is left out.
        """
        t = self._elapsed([day, day + WEEK_DAYS])
        share, _ = trends(self.posterior, t, np.array([[1.0, 0.0]]))
        lost, variance = trends(self.posterior, t, np.array([[1.0, -1.0]]))
        parts = _parts(self.posterior, lost / share, variance / share**2)
        return _interval(100.0 * quantiles(LOW_MID_HIGH, *parts)[0])

    def chances_dry(self, days: Sequence[float] | Floats, week_loss_percent: float) -> Floats:
        """Chance, for each day, that the week from it loses less than the given percent: [days]."""
        t = self._elapsed(days)
        count = t.shape[1]
        keep = 1.0 - week_loss_percent / 100.0
        combine = np.hstack([keep * np.eye(count), -np.eye(count)])
        both = np.concatenate([t, t + WEEK_DAYS], axis=1)
        parts = _parts(self.posterior, *trends(self.posterior, both, combine))
        return chance_below(np.zeros(count), *parts)

    def chance_dry(self, day: float, week_loss_percent: float = 1.0) -> float:
        """Chance that from that day on the bar loses less than the given percent in a week."""
        return float(self.chances_dry([day], week_loss_percent)[0])

    def dry_day(self, week_loss_percent: float = 1.0) -> DaysInterval:
        """First day whose coming week loses less than the given percent, days after pour."""
        days = self.start.day + crossings(self.posterior, week_loss_percent, LOW_MID_HIGH)[0]
        early, expected, late = np.minimum(days, self.start.day + HORIZON_DAYS).tolist()
        return DaysInterval(early=early, expected=expected, late=late)

    def chance_mean_at_least(self, mass_g: float, day: float) -> float:
        """Chance that the mean bar weighs at least mass_g on that day."""
        return float(self.chances_at_least(mass_g, [day])[0])

    def chances_at_least(self, mass_g: float, days: Sequence[float] | Floats) -> Floats:
        """Chance, for each day, that the mean bar weighs at least mass_g: [days]."""
        t = self._elapsed(days)
        if mass_g <= self.start.dry_mass_g:
            return np.ones(t.shape[1])
        limit = np.full(t.shape[1], mass_g / self.start.mass_per_bar_g)
        below = chance_below(limit, *_parts(self.posterior, *masses(self.posterior, t)))
        return np.asarray(1.0 - below, dtype=np.float64)


def _parts(posterior: Posterior, mean: Floats, variance: Floats) -> tuple[Floats, Floats, Floats]:
    """Weights, means and variances [M, C] of a stack of one, light components left out."""
    weight = posterior.weight[0].reshape(-1)
    heavy = weight > weight.max() * 1e-4
    count = mean.shape[2]
    flat_mean = mean[0].transpose(1, 0, 2).reshape(count, -1)[:, heavy]
    flat_variance = variance[0].transpose(1, 0, 2).reshape(count, -1)[:, heavy]
    weights = np.broadcast_to(weight[heavy] / weight[heavy].sum(), flat_mean.shape)
    return weights, flat_mean, flat_variance


def _interval(points: Floats) -> Interval:
    low, mid, high = np.maximum.accumulate(points).tolist()
    return Interval(low=low, nominal=mid, high=high)


def forecast(
    start: BatchStart, weigh_ins: Sequence[WeighIn], *, prior: Prior = WEAK_PRIOR
) -> Forecast:
    """The forecast of one batch.

    Args:
        start: where its drying began.
        weigh_ins: its readings in any order; those before the start are left out.
        prior: what the shop's finished batches teach, or the weak prior.
    """
    return forecasts([(start, weigh_ins, prior)])[0]


def forecasts(batches: Sequence[tuple[BatchStart, Sequence[WeighIn], Prior]]) -> list[Forecast]:
    """The forecasts of many batches at once, in the order given; see `forecast`."""
    ordered = [
        (start, tuple(sorted((w for w in readings if w.day >= start.day), key=lambda w: w.day)), p)
        for start, readings, p in batches
    ]
    slots = [kept(*batch) for batch in ordered]
    fresh = [place for place, slot in enumerate(slots) if not slot]
    for place, learnt in zip(fresh, _learn([ordered[place] for place in fresh]), strict=True):
        slots[place].append(learnt)
    return [slot[0] for slot in slots]


@lru_cache(maxsize=256)  # some 40 kB each
def kept(start: BatchStart, readings: tuple[WeighIn, ...], prior: Prior) -> list[Forecast]:
    """Where a batch's forecast is kept, so that only what has changed is learnt anew."""
    return []


def _learn(batches: Sequence[tuple[BatchStart, tuple[WeighIn, ...], Prior]]) -> list[Forecast]:
    posteriors = learn_all(batches)
    before = learn_all([(start, (), prior) for start, _, prior in batches])
    return [
        Forecast(
            start=start,
            weigh_ins=readings,
            prior=prior,
            posterior=posterior,
            alarms=find_alarms(start, readings, prior, posterior, expected),
        )
        for (start, readings, prior), posterior, expected in zip(
            batches, posteriors, before, strict=True
        )
    ]
