"""How many of the bars poured will be good, from what came out of the moulds."""

from __future__ import annotations

import math

import numpy as np

from soapstock.chemistry.interval import Interval

PRIOR_BAD, PRIOR_GOOD = 0.5, 9.5  # beforehand one bar in twenty breaks, very unsure; our guess


def good_bars(poured: int, good: int, bad: int) -> Interval:
    """Good bars of so many poured: 5 %, 50 % and 95 % points.

    Beta-binomial: a beta prior for the share that breaks, taught by bars good and bad so far
    (Gelman and others, Bayesian Data Analysis, 3rd ed., section 2.1, from memory).
    """
    if poured <= 0:
        return Interval(low=0.0, nominal=0.0, high=0.0)
    a, b = PRIOR_BAD + bad, PRIOR_GOOD + good
    bad_each = np.arange(poured + 1)
    chance = np.array([math.exp(_ln_chance(int(x), poured, a, b)) for x in bad_each])
    sums = np.cumsum(chance)
    most, mid, least = (poured - int(np.searchsorted(sums, q)) for q in (0.05, 0.5, 0.95))
    return Interval(low=float(least), nominal=float(mid), high=float(most))


def _ln_chance(bad: int, poured: int, a: float, b: float) -> float:
    """Log of the beta-binomial chance of so many bad bars."""
    ln = math.lgamma
    ways = ln(poured + 1) - ln(bad + 1) - ln(poured - bad + 1)
    taught = ln(a + bad) + ln(b + poured - bad) - ln(a + b + poured)
    return ways + taught + ln(a + b) - ln(a) - ln(b)
