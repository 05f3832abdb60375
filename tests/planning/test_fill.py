"""Filling cups: both ways, and how evenly a person fills."""

from __future__ import annotations

import math

import numpy as np
import pytest

from soapstock.chemistry.interval import Interval
from soapstock.errors import BadInput
from soapstock.planning.fill import (
    PRIOR_SPREAD,
    Evenness,
    Subset,
    cups_from,
    declare_for,
    fill_for,
    learn_evenness,
)

LEFT = Interval(low=0.80, nominal=0.85, high=0.90)


def test_both_ways_meet() -> None:
    """What may be declared for a fill is what the fill was asked for."""
    even = Evenness(spread=0.03, batches=5)
    fill_g = fill_for(100.0, LEFT, even)
    assert declare_for(fill_g, LEFT, even) == pytest.approx(100.0)
    assert fill_g > 100.0 / LEFT.nominal


def test_ninety_five_in_a_hundred_bars_hold() -> None:
    """Bars drawn by numpy with both spreads: 95 % weigh the declared mass or more."""
    even = Evenness(spread=0.04, batches=5)
    fill_g = fill_for(100.0, LEFT, even)
    rng = np.random.default_rng(5)
    drying = math.log(0.85 / 0.80) / 1.6449
    bars = fill_g * np.exp(rng.normal(0, 0.04, 200_000)) * 0.85
    bars = bars * np.exp(rng.normal(0, drying, 200_000))
    assert np.mean(bars >= 100.0) == pytest.approx(0.95, abs=0.003)


def test_the_rest_is_spread_evenly() -> None:
    """2,000 g at 120 g a cup: 16 cups of 125 g."""
    cups = cups_from(2000.0, 120.0)
    assert (cups.count, cups.each_g) == (16, 125.0)
    with pytest.raises(BadInput):
        cups_from(100.0, 120.0)


def test_learns_the_spread_of_simulated_fillers() -> None:
    """Bars filled with a known spread, ten of twenty weighed: it is found within a fifth."""
    rng = np.random.default_rng(3)
    for true in (0.01, 0.08):
        told = []
        for _ in range(600):
            bars = rng.normal(1.0, true, 20)
            share = bars[:10].mean() / bars.mean() * 0.98  # 2 % stays in the pot
            told.append(Subset(weighed=10, all_bars=20, share=float(share)))
        assert learn_evenness(told).spread == pytest.approx(true, rel=0.2)


def test_without_batches_the_guess_stands() -> None:
    """One batch alone says nothing of evenness."""
    assert learn_evenness([]).spread == PRIOR_SPREAD
    assert learn_evenness([Subset(weighed=5, all_bars=20, share=0.9)]).batches == 0
