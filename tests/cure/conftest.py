"""Bars and forecasts to test the cure room with."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import pytest

from soapstock.cure.model import BatchStart, Forecast, WeighIn, forecast
from soapstock.recipes.bars import Brick


@pytest.fixture
def start() -> BatchStart:
    """Ten bars of 130 g and 20 % water, 90 x 60 x 25 mm, unmoulded on day 1.5, 1 g scale."""
    return BatchStart(
        mass_per_bar_g=130.0,
        day=1.5,
        water_fraction=0.2,
        scale_step_g=1.0,
        bars=10,
        shape=Brick(length_mm=90, width_mm=60, height_mm=25),
    )


@pytest.fixture
def weighed(start: BatchStart) -> Callable[[Sequence[tuple[float, float]]], Forecast]:
    """The forecast after weigh-ins of the ten bars, given as (day, g a bar)."""

    def make(readings: Sequence[tuple[float, float]]) -> Forecast:
        return forecast(start, [WeighIn(day=d, mass_g=10 * g, bars=10) for d, g in readings])

    return make
