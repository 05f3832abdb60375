"""Mixtures of Gaussians."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import norm

from soapstock.cure.mixture import chance_below, normal_cdf, quantiles, quick_normal_cdf


def test_the_normal_distribution_agrees_with_scipy() -> None:
    """Within 2e-7 from -8 to 8 standard deviations."""
    x = np.linspace(-8, 8, 4001)
    assert normal_cdf(x) == pytest.approx(norm.cdf(x), abs=2e-7)


def test_the_quick_form_agrees_with_scipy() -> None:
    """Within 2e-4 from -10 to 10 standard deviations."""
    x = np.linspace(-10, 10, 4001)
    assert quick_normal_cdf(x) == pytest.approx(norm.cdf(x), abs=2e-4)


def test_quantiles_undo_chances() -> None:
    """The chance of being below the 5 % quantile of a mixture is 5 %, and so on."""
    rng = np.random.default_rng(20261125)
    weight = rng.dirichlet(np.ones(7), size=4)
    mean, variance = rng.normal(size=(4, 7)), rng.uniform(0.01, 1.0, size=(4, 7))
    levels = np.array([0.05, 0.5, 0.95])
    found = quantiles(levels, weight, mean, variance)
    for place, level in enumerate(levels):
        chance = chance_below(found[:, place], weight, mean, variance)
        assert chance == pytest.approx(np.full(4, level), abs=1e-4)


def test_a_mixture_without_spread_steps_at_its_value() -> None:
    """Zero variance is taken as certainty, not as a division by zero."""
    one = np.ones(1)
    assert chance_below(np.array(0.9), one, one, 0 * one) == pytest.approx(0.0)
    assert chance_below(np.array(1.1), one, one, 0 * one) == pytest.approx(1.0)
