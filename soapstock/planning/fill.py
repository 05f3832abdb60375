"""How much to pour into each cup so that the dried bar still weighs what its label says.

A bar's mass on a later day is its fill times what drying leaves of it. Both are uncertain: the fill
by how evenly this person pours, what drying leaves by the forecast. Taken as independent and
log-normal, the two spreads add in squares. 95 % sure means that of single bars, one in twenty may
be lighter; the law's test of the average is milder and stands in its own place.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from soapstock.chemistry.interval import Interval
from soapstock.errors import BadInput

_Z95 = 1.6449  # standard normal, 95 % point
PRIOR_SPREAD = 0.04  # share by which single fills differ (sd); our guess, no source
PRIOR_COUNTS = 4.0  # readings that the guess counts for; ours


@dataclass(frozen=True, slots=True, kw_only=True)
class Subset:
    """Bars of one batch that were weighed together, beside all of its batter.

    Attributes:
        weighed: how many were weighed together, at least 1 and fewer than all.
        all_bars: bars that the batter made.
        share: mean mass of the weighed ones over the mean of all as poured.
    """

    weighed: int
    all_bars: int
    share: float

    def __post_init__(self) -> None:
        if not 1 <= self.weighed < self.all_bars or not self.share > 0:
            raise BadInput(f"{self.weighed} of {self.all_bars} bars weighed tell nothing")

    @property
    def factor(self) -> float:
        """Variance of the mean of the weighed ones, over that of a single bar.

        Sampling without replacement: (1 / n)(1 - n / N) with S squared, Cochran, Sampling
        Techniques, 3rd ed., 1977, section 2.5 (from memory).
        """
        return (1.0 - self.weighed / self.all_bars) / self.weighed


@dataclass(frozen=True, slots=True, kw_only=True)
class Evenness:
    """How a person fills: spread of single fills (sd as a share), and what taught it.

    `kept` is the share of the batter that is in the bars out of the mould.
    """

    spread: float
    batches: int
    kept: float = 1.0


def learn_evenness(subsets: Sequence[Subset]) -> Evenness:
    """The spread of single fills, from subsets weighed beside whole batches.

    A common loss (what stays in the pot) is taken off as the weighted mean; the rest is scaled to
    a single bar and joined with the guess, which counts as four readings (scaled inverse chi-square
    prior; Gelman and others, Bayesian Data Analysis, 3rd ed., section 2.6, from memory).
    """
    if len(subsets) < 2:  # noqa: PLR2004  # one reading cannot differ from the mean of one
        return Evenness(spread=PRIOR_SPREAD, batches=0)
    weights = [1.0 / s.factor for s in subsets]
    mean = sum(w * s.share for w, s in zip(weights, subsets, strict=True)) / sum(weights)
    squares = sum(w * (s.share / mean - 1.0) ** 2 for w, s in zip(weights, subsets, strict=True))
    told = len(subsets) - 1
    variance = (PRIOR_COUNTS * PRIOR_SPREAD**2 + squares) / (PRIOR_COUNTS + told)
    return Evenness(spread=math.sqrt(variance), batches=len(subsets), kept=min(mean, 1.0))


def _ln_margin(evenness: Evenness, left: Interval) -> float:
    if not 0 < left.low <= left.nominal <= left.high:
        raise BadInput("what drying leaves of a bar must lie above nothing")
    drying = math.log(left.nominal / left.low) / _Z95
    return _Z95 * math.hypot(evenness.spread, drying)


def fill_for(declared_g: float, left: Interval, evenness: Evenness) -> float:
    """Batter for each cup, g, so that a bar is 95 % sure to weigh the declared mass.

    Args:
        left: share of a bar's fill that is left on the day it must hold (5, 50, 95 % points).
    """
    if not declared_g > 0:
        raise BadInput(f"{declared_g:g} g declares nothing")
    return declared_g / left.nominal * math.exp(_ln_margin(evenness, left))


def declare_for(fill_g: float, left: Interval, evenness: Evenness) -> float:
    """The most to declare, g, for cups that hold so much, 95 % sure of each bar."""
    if not fill_g > 0:
        raise BadInput(f"{fill_g:g} g fills nothing")
    return fill_g * left.nominal * math.exp(-_ln_margin(evenness, left))


@dataclass(frozen=True, slots=True, kw_only=True)
class Cups:
    """Cups filled from one pot: how many, and how much in each when the rest is spread evenly."""

    count: int
    each_g: float


def cups_from(batter_g: float, fill_g: float) -> Cups:
    """The most cups that a pot fills with at least so much each; what is over goes into all.

    Raises:
        BadInput: the pot does not fill one.
    """
    count = math.floor(batter_g / fill_g + 1e-9)
    if count < 1:
        raise BadInput(f"{batter_g:.0f} g of batter does not fill one cup with {fill_g:.0f} g")
    return Cups(count=count, each_g=batter_g / count)
