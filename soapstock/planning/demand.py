"""How many bars of a variety a day are asked for, and how many may be asked for in so many days.

Bars are asked for one by one at an even rate (a Poisson process) that nobody knows; what is
believed of the rate beforehand is a gamma density about a guess, and what was sold while there was
something to sell teaches it (Gelman and others, Bayesian Data Analysis, 3rd ed., 2013, section 2.6,
from memory: gamma prior (a, b), n events over exposure T, posterior gamma (a + n, b + T)). A spell
that ended sold out says only that at least so many were asked for, so its likelihood is the tail
P(N >= n); that has no closed posterior, and all is therefore done on a grid of the rate's
logarithm. Bars asked for by one customer at once come in lumps that this model takes for chance
apart: its ranges are then a little too narrow.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import NDArray

from soapstock.chemistry.interval import Interval
from soapstock.errors import BadInput

Floats = NDArray[np.float64]

PRIOR_SHAPE = 2.0  # a guess counts as two bars sold: 90 % of its range spans a factor of 13; ours
_LEAST_TAIL = 1e-9  # below it, one less the sum is rounding
_LEAST_CHANCE = 0.001  # bars asked for more seldom are left out
_POINTS = 600
_MOST_BARS = 5000  # a shop that sells more in one window needs another tool


@dataclass(frozen=True, slots=True, kw_only=True)
class Spell:
    """What was sold of one variety while it was on sale.

    Attributes:
        days: days on which there were bars to sell, above zero.
        sold: bars sold in them.
        sold_out: the spell ended because none were left on a day not known to the hour, so that
            more may have been asked for.
    """

    days: float
    sold: int
    sold_out: bool = False

    def __post_init__(self) -> None:
        if not self.days > 0 or self.sold < 0:
            raise BadInput(f"{self.sold} bars in {self.days:g} days is no spell of selling")


@dataclass(frozen=True, kw_only=True)
class Rate:
    """What is known of the bars a day asked for: a density on a grid of rates."""

    per_day: Floats
    weight: Floats

    def interval(self) -> Interval:
        """Bars a day: 5 %, 50 % and 95 % points."""
        low, mid, high = (self._quantile(q) for q in (0.05, 0.5, 0.95))
        return Interval(low=low, nominal=mid, high=high)

    @cached_property
    def mean(self) -> float:
        """Expected bars a day."""
        return float(self.per_day @ self.weight)

    def _quantile(self, chance: float) -> float:
        sums = np.cumsum(self.weight) - self.weight / 2
        return float(np.exp(np.interp(chance, sums, np.log(self.per_day))))


def learn_rate(guess_per_day: float, spells: Iterable[Spell], shape: float = PRIOR_SHAPE) -> Rate:
    """The rate after what was sold.

    Args:
        guess_per_day: mean of the gamma prior, bars a day.
        shape: its shape; the prior counts as that many bars sold.

    Raises:
        BadInput: the guess is not above zero.
    """
    if not (guess_per_day > 0 and shape > 0):
        raise BadInput(f"{guess_per_day:g} bars a day is no guess to begin with")
    told = list(spells)
    sold = sum(s.sold for s in told)
    days = sum(s.days for s in told)
    middle = math.log((shape + sold) / (shape / guess_per_day + days))
    # Six decades below reach a variety of which nothing sold; one spell sold out may lie far above.
    ln_rate = np.linspace(middle - 14.0, middle + 7.0, _POINTS)
    rate = np.exp(ln_rate)
    ln_weight = shape * ln_rate - shape / guess_per_day * rate  # density of ln rate
    for spell in told:
        ln_weight = ln_weight + _ln_likelihood(rate * spell.days, spell)
    weight = np.exp(ln_weight - ln_weight.max())
    rate, weight = _refined(rate, ln_weight, told, guess_per_day, shape)
    return Rate(per_day=rate, weight=weight / weight.sum())


def _refined(
    rate: Floats, ln_weight: Floats, told: Sequence[Spell], guess: float, shape: float
) -> tuple[Floats, Floats]:
    """The same density on a grid that spans only where it weighs anything."""
    kept = np.log(rate[ln_weight > ln_weight.max() - 30.0])
    step = 21.0 / (_POINTS - 1)
    ln_rate = np.linspace(kept[0] - step, kept[-1] + step, _POINTS)
    fine = np.exp(ln_rate)
    ln_fine = shape * ln_rate - shape / guess * fine
    for spell in told:
        ln_fine = ln_fine + _ln_likelihood(fine * spell.days, spell)
    return fine, np.exp(ln_fine - ln_fine.max())


def _ln_likelihood(mean: Floats, spell: Spell) -> Floats:
    if not spell.sold_out:
        return np.asarray(spell.sold * np.log(mean) - mean)
    if spell.sold == 0:
        return np.zeros_like(mean)
    below = _poisson(mean, spell.sold)  # P(N = 0 .. sold - 1)
    tail = 1.0 - below.sum(axis=1)
    # Far below the count the tail drowns in rounding; its first term then stands for it.
    first = spell.sold * np.log(mean) - mean - math.lgamma(spell.sold + 1)
    return np.asarray(np.where(tail > _LEAST_TAIL, np.log(np.maximum(tail, 1e-300)), first))


def _poisson(mean: Floats, count: int) -> Floats:
    """P(N = k) for k below count: [means, count]."""
    k = np.arange(count, dtype=np.float64)
    return np.asarray(np.exp(k * np.log(mean)[:, None] - mean[:, None] - _ln_factorials(count)))


@lru_cache(maxsize=64)
def _ln_factorials(count: int) -> Floats:
    return np.array([math.lgamma(k + 1.0) for k in range(count)])


@dataclass(frozen=True, kw_only=True)
class Demand:
    """Bars of one variety that will be asked for in a window.

    Attributes:
        sure: bars of open orders and of the waiting list, counted as certain.
        chance_at_least: chance that at least 1, 2, ... bars are asked for, down to 1 in 1,000.
    """

    sure: int
    chance_at_least: Floats

    @property
    def mean(self) -> float:
        """Expected bars asked for."""
        return float(self.chance_at_least.sum())

    def expected_sales(self, bars: float) -> float:
        """Expected bars sold when so many are there: E[min(bars, demand)]."""
        whole = int(bars)
        part = (bars - whole) * self.marginal(whole + 1)
        return float(self.chance_at_least[:whole].sum()) + part

    def marginal(self, bar: int) -> float:
        """Chance that this bar (from 1) is asked for."""
        return float(self.chance_at_least[bar - 1]) if bar <= len(self.chance_at_least) else 0.0

    def at_chance(self, chance: float) -> int:
        """The least number of bars that covers the demand with this chance."""
        return int(np.sum(self.chance_at_least > 1.0 - chance))


def demand(rate: Rate, days: float, sure: int = 0) -> Demand:
    """Demand in so many days: certain bars and those of the rate (a Poisson count, rate unknown).

    Raises:
        BadInput: more bars than are ever poured by hand; the rate or the window is wrong.
    """
    mean = rate.per_day * days
    high = rate.interval().high * days
    count = int(4 * high + 10 * math.sqrt(high + 1)) + 20 if days > 0 else 1
    if count + sure > _MOST_BARS:
        raise BadInput(f"about {high:.0f} bars asked for in {days:g} days is past what is planned")
    chance = _poisson(mean, count).T @ rate.weight if days > 0 else np.ones(1)
    at_least = np.clip(1.0 - np.cumsum(chance), 0.0, 1.0)  # P(N >= 1), P(N >= 2), ...
    at_least = np.minimum.accumulate(at_least)
    kept = at_least[at_least > _LEAST_CHANCE]
    return Demand(sure=sure, chance_at_least=np.concatenate([np.ones(sure), kept]))
