"""Masses and drying from a posterior."""

from __future__ import annotations

import numpy as np
import pytest

from soapstock.cure.batch import BatchStart, WeighIn
from soapstock.cure.outlook import masses, trends, within_cell
from soapstock.cure.posterior import GRID_COUNT, learn
from soapstock.cure.prior import WEAK_PRIOR
from soapstock.cure.stack import lay_out


def test_without_readings_a_mass_spreads_by_the_weather_about_its_trend(start: BatchStart) -> None:
    """The mean mass is the trend; its variance is larger, by weather and start error."""
    learnt = learn(lay_out([(start, (), WEAK_PRIOR)]))
    days = np.array([[7.0, 60.0]])
    mean, variance = masses(learnt, days)
    trend, narrower = trends(learnt, days, np.eye(2))
    assert mean == pytest.approx(trend)
    assert (variance > narrower).all()


def test_a_sum_of_trends_is_the_sum(start: BatchStart) -> None:
    """What a week loses is the mass before less the mass after."""
    learnt = learn(lay_out([(start, [WeighIn(day=7, mass_g=1240, bars=10)], WEAK_PRIOR)]))
    days = np.array([[10.0, 17.0]])
    both, _ = trends(learnt, days, np.eye(2))
    lost, _ = trends(learnt, days, np.array([[1.0, -1.0]]))
    assert lost[0, :, 0] == pytest.approx(both[0, :, 0] - both[0, :, 1])


def test_a_cell_spreads_over_its_own_family_only() -> None:
    """A value that rises by one a cell, and jumps between families, spreads by 1/12 everywhere."""
    value = np.concatenate([np.arange(GRID_COUNT) + 100.0 * f for f in range(3)])
    assert within_cell(value) == pytest.approx(np.full(3 * GRID_COUNT, 1.0 / 12.0))
