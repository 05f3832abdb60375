"""Laying batches side by side."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from soapstock.cure.batch import BatchStart, WeighIn
from soapstock.cure.drying import LN_DT_COUNT
from soapstock.cure.prior import WEAK_PRIOR, Prior
from soapstock.cure.stack import end_share, grid_of, lay_out, learn_all, take


def test_the_grid_carries_the_prior() -> None:
    """Mean and spread of the grid's weights are those of the prior."""
    grid, ln_weight = grid_of(WEAK_PRIOR, shape_known=True)
    weight = np.exp(ln_weight).sum(axis=0)  # over the families
    mean = (weight * grid).sum()
    assert weight.sum() == pytest.approx(1.0)
    assert mean == pytest.approx(WEAK_PRIOR.ln_d_mean)
    assert np.sqrt((weight * (grid - mean) ** 2).sum()) == pytest.approx(0.5, abs=0.005)


def test_a_surprise_share_thickens_the_tails() -> None:
    """With a share of strangers, far rates keep weight."""
    learnt = Prior(ln_d_mean=-24.0, ln_d_sd=0.15, end_percent_mean=10, end_percent_sd=2)
    open_minded = Prior(
        ln_d_mean=-24.0, ln_d_sd=0.15, end_percent_mean=10, end_percent_sd=2, surprise_share=0.1
    )
    assert grid_of(open_minded, True)[1][0, 0] > grid_of(learnt, True)[1][0, 0] + 10


def test_the_grid_shares_the_prior_among_the_families() -> None:
    """Skin and core together have the prior's chance."""
    prior = replace(WEAK_PRIOR, skin_chance=0.3)
    weight = np.exp(grid_of(prior, True)[1]).sum(axis=1)
    assert weight == pytest.approx([0.7, 0.15, 0.15])


def test_the_end_share_comes_from_start_water_and_end_moisture() -> None:
    """Here q = (1 - 0.2) / (1 - 0.1), and 3 points of moisture are 0.8 / 0.9^2 * 0.03 of it."""
    mean, sd = end_share(np.array([0.2]), np.array([10.0]), np.array([3.0]))
    assert (mean[0], sd[0]) == pytest.approx((0.8 / 0.9, 0.8 / 0.81 * 0.03))


def test_taking_one_out_leaves_its_readings(start: BatchStart) -> None:
    """Batch b of a stack keeps its own readings, curve and weights."""
    readings = [WeighIn(day=7.0, mass_g=1240.0, bars=10)]
    stack = lay_out([(start, readings, WEAK_PRIOR)] * 2)
    assert stack.curves.shape == (LN_DT_COUNT,)
    learnt = learn_all([(start, readings, WEAK_PRIOR), (start, (), WEAK_PRIOR)])
    assert [p.stack.y.shape for p in learnt] == [(1, 1), (1, 0)]
    assert take(learnt[0], 0).weight == pytest.approx(learnt[0].weight)
