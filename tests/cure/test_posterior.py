"""The posterior's algebra against the long way round."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.stats import multivariate_normal

from soapstock.cure.batch import BatchStart, WeighIn
from soapstock.cure.curves import ln_late_rate
from soapstock.cure.drying import remaining
from soapstock.cure.outlook import masses
from soapstock.cure.posterior import GRID_COUNT, curve_at, learn, wander
from soapstock.cure.prior import WEAK_PRIOR
from soapstock.cure.stack import lay_out

READINGS = [(7.0, 124.0), (14.0, 120.5), (21.0, 118.5)]


@pytest.mark.parametrize("level", [0, 1], ids=["calm", "changing"])
def test_the_closed_form_agrees_with_conditioning_a_joint_gaussian(
    start: BatchStart, level: int
) -> None:
    """With all readings sound, weights and the mass of day 40 are those of the long way round.

    That is: write out the joint Gaussian of readings and mass for each cell, and condition.
    """
    stack = lay_out(
        [(start, [WeighIn(day=d, mass_g=10 * g, bars=10) for d, g in READINGS], WEAK_PRIOR)]
    )
    learnt = learn(stack)
    sound = 4 * level
    later = np.array([[38.5]])
    mean, variance = masses(learnt, later)
    t = np.concatenate([stack.t, later], axis=1)
    share, levers = curve_at(stack, t)
    prior_sd = np.array([stack.q_sd[0], 1.0, 1.0])
    prior_mean = np.array([stack.q_mean[0], 0.0, 0.0])
    noise = np.diag([*stack.noise[0] ** 2, 0.0])
    drift = wander(stack, t, t, learnt.weather)[0, level]
    ln_weights = []
    for j in range(stack.ln_d.shape[1]):
        h = levers[0, :, j]
        centre = share[0, :, j] + h @ prior_mean
        joint = h @ np.diag(prior_sd**2) @ h.T + drift + noise
        seen, unseen = joint[:3, :3], joint[3, :3]
        gain = unseen @ np.linalg.inv(seen)
        assert mean[0, sound, 0, j] == pytest.approx(centre[3] + gain @ (stack.y[0] - centre[:3]))
        family = slice(j // GRID_COUNT * GRID_COUNT, (j // GRID_COUNT + 1) * GRID_COUNT)
        step = np.gradient(mean[0, sound, 0, family])[j % GRID_COUNT]
        assert variance[0, sound, 0, j] == pytest.approx(
            joint[3, 3] - gain @ unseen + step**2 / 12.0
        )
        ln_like = multivariate_normal(centre[:3], seen).logpdf(stack.y[0])
        ln_weights.append(ln_like + stack.ln_prior[0, j])
    weights = np.exp(np.array(ln_weights) - max(ln_weights))
    found = learnt.weight[0, sound] / learnt.weight[0, sound].sum()
    assert found == pytest.approx(weights / weights.sum(), abs=1e-9)


def test_leaving_a_reading_out_is_having_never_had_it(start: BatchStart) -> None:
    """The hypothesis that the second reading is wrong gives the forecast of the other two."""
    readings = [WeighIn(day=d, mass_g=10 * g, bars=10) for d, g in READINGS]
    whole = learn(lay_out([(start, readings, WEAK_PRIOR)]))
    without = learn(lay_out([(start, [readings[0], readings[2]], WEAK_PRIOR)]))
    later = np.array([[38.5]])
    assert masses(whole, later)[0][0, 2] == pytest.approx(masses(without, later)[0][0, 0])
    weights = whole.weight[0, 2] / whole.weight[0, 2].sum()
    assert weights == pytest.approx(without.weight[0, 0] / without.weight[0, 0].sum(), abs=1e-9)


def test_a_single_far_reading_is_more_likely_wrong_than_right(start: BatchStart) -> None:
    """Of one reading 15 % above the start mass, the weight sits on its being wrong."""
    learnt = learn(lay_out([(start, [WeighIn(day=7, mass_g=1500, bars=10)], WEAK_PRIOR)]))
    assert learnt.wrong[0, 0] > 0.9


def test_single_precision_weighs_the_cells_as_double_does(start: BatchStart) -> None:
    """The quick way of many batches agrees to a thousandth of the whole weight."""
    readings = [WeighIn(day=d, mass_g=10 * g, bars=10) for d, g in READINGS]
    exact = learn(lay_out([(start, readings, WEAK_PRIOR)]))
    quick = learn(lay_out([(start, readings, WEAK_PRIOR)], single=True))
    assert quick.weight.dtype == np.float32
    assert quick.weight == pytest.approx(exact.weight, abs=1e-3)


@pytest.mark.parametrize(("ratio", "skin"), [(None, False), (4.0, True)])
def test_the_readings_tell_which_family_a_bar_follows(
    start: BatchStart, ratio: float | None, skin: bool
) -> None:
    """A bar dried by Fick's law is taken for even, one of two rates for skin and core."""
    days = np.array([4.0, 7.0, 10.0, 14.0, 21.0, 28.0, 35.0])
    dt = 3.5e-11 * 86400.0 * (days - start.day)
    assert start.shape is not None
    late = math.exp(ln_late_rate(start.shape)) * dt
    if ratio is None:
        share = remaining(start.shape, dt)
    else:
        share = 0.5 * (np.exp(-late) + np.exp(-ratio * late))
    mass = 130.0 * (0.89 + 0.11 * share)
    readings = [
        WeighIn(day=d, mass_g=10 * g, bars=10)
        for d, g in zip(days.tolist(), mass.tolist(), strict=True)
    ]
    learnt = learn(lay_out([(start, readings, WEAK_PRIOR)]))
    assert (learnt.weight[..., GRID_COUNT:].sum() > 0.5) == skin
