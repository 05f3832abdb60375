"""Masses and drying on any day, as a posterior has them: mixtures of Gaussians."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from soapstock.cure.curves import FAMILIES
from soapstock.cure.posterior import Posterior, curve_at, wander

Floats = NDArray[np.float64]

CELL_VARIANCE = 12.0  # an even spread over a cell has a twelfth of its square


def masses(posterior: Posterior, t: Floats) -> tuple[Floats, Floats]:
    """Mean and variance of masses, weather and start error included.

    Args:
        posterior: B batches.
        t: [B, N] elapsed days.

    Returns:
        mean [B, H, N, J] and variance [B, H, N, J], as shares of the start mass (and squared).
    """
    stack = posterior.stack
    share, levers = curve_at(stack, t)
    seen_share, seen_levers = curve_at(stack, stack.t)
    times = stack.y.shape[1] + 1
    cross = np.repeat(wander(stack, t, stack.t, posterior.weather), times, axis=1)
    pull = cross @ posterior.precision
    own = np.einsum("blnn->bln", wander(stack, t, t, posterior.weather)).repeat(times, axis=1)
    known = (pull * cross).sum(axis=-1)
    lever = levers[:, None] - np.einsum("bhnk,bkjp->bhnjp", pull, seen_levers)
    residual = stack.y[:, :, None] - seen_share
    mean = share[:, None] + np.einsum("bhnk,bkj->bhnj", pull, residual)
    centre, cov = posterior.moments()
    mean = mean + np.einsum("bhnjp,bhjp->bhnj", lever, centre)
    variance = _spread(lever, cov) + within_cell(mean)
    return mean, variance + np.maximum(own - known, 0.0)[..., None]


def trends(posterior: Posterior, t: Floats, combine: Floats) -> tuple[Floats, Floats]:
    """Mean and variance of sums of masses on the drying curve alone, without weather and errors.

    Args:
        posterior: B batches.
        t: [B, N] elapsed days.
        combine: [M, N] weights that make M sums of the N masses.

    Returns:
        mean [B, H, M, J] and variance [B, H, M, J].
    """
    share, levers = curve_at(posterior.stack, t)
    share = np.einsum("mn,bnj->bmj", combine, share)
    lever = np.einsum("mn,bnjp->bmjp", combine, levers)[:, None]
    centre, cov = posterior.moments()
    mean = share[:, None] + np.einsum("bhmjp,bhjp->bhmj", lever, centre)
    return mean, _spread(lever, cov) + within_cell(mean)


def within_cell(value: Floats) -> Floats:
    """Variance of a value [..., J] within each cell, by its change from cell to cell of a family.

    Each cell stands for a whole stretch of ln D, evenly; without this sharp readings would leave a
    mixture of separate spikes.
    """
    step = np.gradient(value.reshape(*value.shape[:-1], FAMILIES, -1), axis=-1)
    variance: Floats = (step * step / CELL_VARIANCE).reshape(value.shape)
    return variance


def _spread(lever: Floats, cov: Floats) -> Floats:
    """Variance of lever . (q, e, s): lever [B, H, N, J, P] or broadcast, cov [B, H, J, P, P]."""
    variance: Floats = ((lever[..., None, :] @ cov[:, :, None])[..., 0, :] * lever).sum(axis=-1)
    return variance
