"""Dry days of many batches at once."""

from __future__ import annotations

import numpy as np
import pytest

from soapstock.cure.batch import BatchStart, WeighIn
from soapstock.cure.many import dry_days
from soapstock.cure.model import forecast
from soapstock.cure.prior import WEAK_PRIOR
from soapstock.recipes.bars import Cylinder

LEVELS = np.array([0.05, 0.5, 0.95])


def test_the_days_are_those_at_which_each_forecast_passes_the_chances(start: BatchStart) -> None:
    """On the days found, chance_dry of the single forecast is 5, 50 and 95 %."""
    disc = BatchStart(
        mass_per_bar_g=120.0,
        day=2.0,
        water_fraction=0.24,
        bars=10,
        shape=Cylinder(diameter_mm=72, height_mm=28),
    )
    readings = [WeighIn(day=7, mass_g=1235, bars=10), WeighIn(day=14, mass_g=1200, bars=10)]
    batches = [
        (start, readings, WEAK_PRIOR),
        (start, (), WEAK_PRIOR),
        (disc, (), WEAK_PRIOR),
        (start, readings[:1], WEAK_PRIOR),
    ]
    found = dry_days(batches, 1.0, LEVELS)
    for days, (one, weigh_ins, prior) in zip(found, batches, strict=True):
        chances = forecast(one, weigh_ins, prior=prior).chances_dry(days, 1.0)
        assert chances == pytest.approx(LEVELS, abs=0.04)


def test_a_bar_that_never_loses_that_much_is_dry_at_once() -> None:
    """A bar as dry as its end moisture is dry on the day of unmoulding."""
    dry = BatchStart(mass_per_bar_g=120.0, day=2.0, water_fraction=0.08)
    assert dry_days([(dry, (), WEAK_PRIOR)], 1.0, LEVELS)[0, 0] == pytest.approx(2.0, abs=0.2)
