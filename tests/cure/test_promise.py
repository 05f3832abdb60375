"""The highest weight to declare holds in worlds that no family of the model describes."""

from __future__ import annotations

import math

import numpy as np
import pytest

from soapstock.cure.answers import highest_declared_g
from soapstock.cure.batch import BatchStart, WeighIn
from soapstock.cure.model import WEAK_PRIOR, forecasts
from soapstock.recipes.bars import Brick

SHAPE = Brick(length_mm=85, width_mm=58, height_mm=26)
COUNT = 40


def stretched(rng: np.random.Generator, until: int) -> tuple[tuple, float, float]:  # type: ignore[type-arg]
    """A batch that loses water as exp(-c t^p), weighed by ten bars; its true end mass, and now."""
    half, power = rng.uniform(5.0, 9.0), rng.uniform(0.6, 0.9)
    last = 130.0 * 0.8 / (1.0 - rng.normal(0.10, 0.02))

    def mass(t: float) -> float:
        return last + (130.0 - last) * math.exp(-math.log(2.0) * (t / half) ** power)

    start = BatchStart(
        mass_per_bar_g=130.0, day=1.0, water_fraction=0.2, shape=SHAPE, scale_step_g=1.0, bars=10
    )
    seen = [
        WeighIn(day=day, mass_g=round(10.0 * mass(day - 1.0) * rng.normal(1.0, 0.0005)), bars=10)
        for day in (4, 7, 14, 21, 28, 35)
        if day <= until
    ]
    return (start, seen, WEAK_PRIOR), mass(729.0), mass(until - 1.0)


@pytest.mark.parametrize("until", [21, 28, 35])
def test_the_declared_weight_is_broken_in_few_batches(until: int) -> None:
    """In at most 7 % of batches of a world with a slow tail; own simulation, no outside source."""
    rng = np.random.default_rng([41, until])
    jobs, ends, nows = zip(*(stretched(rng, until) for _ in range(COUNT)), strict=True)
    declared = [highest_declared_g(f, pack_day=until, until_day=None) for f in forecasts(jobs)]
    broken = np.mean(np.minimum(ends, nows) < declared)
    assert broken <= 0.07
