"""Mixtures of Gaussians: their distribution function and quantiles, on arrays."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from soapstock.cure.drying import Real

Floats = NDArray[np.float64]

# Abramowitz and Stegun, Handbook of Mathematical Functions, formula 7.1.26 (from memory; the test
# checks it against scipy): the error function to 1.5e-7. numpy itself has none.
_P = 0.3275911
_A = (0.254829592, -0.284496736, 1.421413741, -1.453152027, 1.061405429)
_TINY = 1e-12
_GRID = np.linspace(0.0, 1.0, 29)


def normal_cdf(x: Floats) -> Floats:
    """Chance that a standard normal number is below x, to 1e-7."""
    z = np.abs(x) / np.sqrt(2.0)
    k = 1.0 / (1.0 + _P * z)
    tail = np.zeros_like(k)
    for a in reversed(_A):
        tail = (tail + a) * k
    half = 0.5 * tail * np.exp(-z * z)
    result: Floats = np.where(x >= 0.0, 1.0 - half, half)
    return result


def quick_normal_cdf(x: NDArray[Real]) -> NDArray[Real]:
    """As normal_cdf, but to 2e-4 and quicker: a logistic curve bent to fit.

    Source: the cubic logistic approximation 1 / (1 + exp(-1.5976 x - 0.07056 x^3)), from memory;
    the test checks it against scipy.
    """
    z = np.clip(x, -8.0, 8.0)
    return np.asarray(1.0 / (1.0 + np.exp(-z * (1.5976 + 0.07056 * z * z))), dtype=x.dtype)


def chance_below(limit: Floats, weight: Floats, mean: Floats, variance: Floats) -> Floats:
    """Chance that a mixture is below a limit.

    Args:
        limit: [...].
        weight: [..., C] adding to 1.
        mean: [..., C].
        variance: [..., C].
    """
    spread = np.sqrt(np.maximum(variance, _TINY**2))
    chance = (weight * normal_cdf((limit[..., None] - mean) / spread)).sum(-1)
    result: Floats = np.clip(chance, 0.0, 1.0)
    return result


def quantiles(chances: Floats, weight: Floats, mean: Floats, variance: Floats) -> Floats:
    """Quantiles of mixtures: on a grid over the whole range, then on one inside the right cell.

    Right to about a thousandth of the widest part's standard deviation.

    Args:
        chances: [Q] between 0 and 1.
        weight: [..., C] adding to 1.
        mean: [..., C].
        variance: [..., C].

    Returns:
        [..., Q].
    """
    spread = np.sqrt(np.maximum(variance, _TINY**2))
    low, high = (mean - 6.0 * spread).min(-1), (mean + 6.0 * spread).max(-1)
    parts = (weight[..., None, :], mean[..., None, :], variance[..., None, :])
    grid = low[..., None] + (high - low)[..., None] * _GRID
    below = chance_below(grid, *parts)
    # The last grid point still under each chance begins its cell.
    cell = np.clip((below[..., None, :] < chances[:, None]).sum(-1) - 1, 0, len(_GRID) - 2)
    start = np.take_along_axis(grid, cell, axis=-1)
    fine = start[..., None] + (grid[..., 1] - grid[..., 0])[..., None, None] * _GRID
    shape = fine.shape
    risen = chance_below(fine.reshape(*shape[:-2], -1), *parts).reshape(shape)
    inner = np.clip((risen < chances[:, None]).sum(-1) - 1, 0, len(_GRID) - 2)[..., None]
    left, right = (np.take_along_axis(fine, inner + i, axis=-1)[..., 0] for i in (0, 1))
    under, over = (np.take_along_axis(risen, inner + i, axis=-1)[..., 0] for i in (0, 1))
    share = np.clip((chances - under) / np.maximum(over - under, _TINY), 0.0, 1.0)
    result: Floats = left + share * (right - left)
    return result
