"""Laying batches side by side in arrays, and taking one back out."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from soapstock.cure.batch import BatchStart, WeighIn, reading_errors
from soapstock.cure.curves import FAMILIES, family_chances, ln_late_rate
from soapstock.cure.drying import LN_DT_COUNT, Faces, curve_table
from soapstock.cure.posterior import GRID_COUNT, GRID_HALF_WIDTH, Posterior, Stack, learn
from soapstock.cure.prior import Prior, default_shape, table
from soapstock.recipes.bars import BarShape

Floats = NDArray[np.float64]
Batch = tuple[BatchStart, Sequence[WeighIn], Prior]

CHUNK = 128  # batches worked on at once: enough to spread the cost of each array call, and no more


@lru_cache(maxsize=256)
def grid_of(prior: Prior, shape_known: bool) -> tuple[Floats, Floats]:
    """The grid of ln D and the log weight [FAMILIES, grid] the prior gives each cell."""
    offset = np.linspace(-GRID_HALF_WIDTH, GRID_HALF_WIDTH, GRID_COUNT)
    extra = 0.0 if shape_known else table("default_bar")["ln_diffusivity_extra_sd"]
    sd, wide = math.hypot(prior.ln_d_sd, extra), math.hypot(prior.surprise_sd, extra)
    usual = (1.0 - prior.surprise_share) * np.exp(-0.5 * (offset / sd) ** 2) / sd
    other = prior.surprise_share * np.exp(-0.5 * (offset / wide) ** 2) / wide
    weight = usual + other + 1e-300
    cells = family_chances(prior.skin_chance)[:, None] * (weight / weight.sum())
    return prior.ln_d_mean + offset, np.log(cells + 1e-300)


def end_share(water: Floats, end_percent: Floats, sd_percent: Floats) -> tuple[Floats, Floats]:
    """Mean and standard deviation of the end mass as a share of the start mass.

    Args:
        water: start water as a fraction of the start mass.
        end_percent: end moisture, percent of the bar's then mass.
        sd_percent: its standard deviation, percentage points.
    """
    dry, end = 1.0 - water, 1.0 - end_percent / 100.0
    return dry / end, dry / end**2 * sd_percent / 100.0


def lay_out(batches: Sequence[Batch], *, single: bool = False) -> Stack:
    """A stack of batches that all have the same number of readings.

    Args:
        batches: start, weigh-ins in order of day and prior of each.
        single: whether to work in single precision, good to about four places and twice as quick.
    """
    starts = [start for start, _, _ in batches]
    shapes: dict[tuple[BarShape, Faces], int] = {}
    rows = [
        shapes.setdefault((s.shape or default_shape(s.mass_per_bar_g), s.faces), len(shapes))
        for s in starts
    ]
    day, mass, step, known, water = np.array(
        [(s.day, s.mass_per_bar_g, s.scale_step_g, s.bars or 0, s.water_fraction) for s in starts]
    ).T
    flat = [(w.day, w.mass_g, w.bars) for _, weigh_ins, _ in batches for w in weigh_ins]
    seen = np.array(flat).reshape(len(batches), len(batches[0][1]), 3)
    bars = seen[..., 2]
    ln_d, ln_prior, end, end_sd, kinds = _priors(batches)
    q_mean, q_sd = end_share(water, end[kinds], end_sd[kinds])
    return Stack(
        curves=np.concatenate([curve_table(*key) for key in shapes]).astype(
            np.float32 if single else np.float64
        ),
        rows=np.array(rows, dtype=np.intp),
        ln_late=np.array([ln_late_rate(*key) for key in shapes])[rows],
        t=seen[..., 0] - day[:, None],
        y=seen[..., 1] / bars / mass[:, None],
        noise=reading_errors(step / mass, known, bars),
        start_noise=reading_errors(step / mass, known, np.maximum(known, 1.0)[:, None])[:, 0],
        ln_d=ln_d[kinds],
        ln_prior=ln_prior[kinds],
        q_mean=q_mean,
        q_sd=q_sd,
    )


def _priors(
    batches: Sequence[Batch],
) -> tuple[Floats, Floats, Floats, Floats, NDArray[np.intp]]:
    """The different priors: ln D and log weight [P, J], end moisture and sd [P]; which [B] has."""
    places: dict[tuple[int, bool], int] = {}
    kinds: list[int] = []
    found: list[tuple[Floats, Floats, float, float]] = []
    for start, _, prior in batches:
        key = (id(prior), start.shape is not None)
        place = places.setdefault(key, len(places))
        if place == len(found):
            grid, weight = grid_of(prior, key[1])
            found.append((grid, weight, prior.end_percent_mean, prior.end_percent_sd))
        kinds.append(place)
    grids, weights, end, end_sd = zip(*found, strict=True)
    return (
        np.tile(np.stack(grids), (1, FAMILIES)),
        np.stack(weights).reshape(len(found), -1),
        np.array(end),
        np.array(end_sd),
        np.array(kinds, dtype=np.intp),
    )


def take(posterior: Posterior, b: int) -> Posterior:
    """The posterior of batch b alone, as a stack of one."""
    one = slice(b, b + 1)
    s = posterior.stack
    row = int(s.rows[b])
    stack = replace(
        s,
        curves=s.curves[row * LN_DT_COUNT : (row + 1) * LN_DT_COUNT],
        rows=np.zeros(1, dtype=np.intp),
        ln_late=s.ln_late[one],
        t=s.t[one],
        y=s.y[one],
        noise=s.noise[one],
        start_noise=s.start_noise[one],
        ln_d=s.ln_d[one],
        ln_prior=s.ln_prior[one],
        q_mean=s.q_mean[one],
        q_sd=s.q_sd[one],
    )
    return Posterior(
        stack=stack,
        weight=posterior.weight[one],
        mean=posterior.mean[:, one],
        cov=posterior.cov[:, :, one],
        pull=posterior.pull[:, one],
        gap=posterior.gap[one],
        firm=posterior.firm[one],
        whole=posterior.whole[one],
        weather=posterior.weather,
    )


def learn_together(batches: Sequence[Batch]) -> Iterator[tuple[list[int], Posterior]]:
    """Posteriors of batches with equally many readings at once, and their places in the input."""
    groups: dict[int, list[int]] = {}
    for place, (_, weigh_ins, _) in enumerate(batches):
        groups.setdefault(len(weigh_ins), []).append(place)
    for places in groups.values():
        for first in range(0, len(places), CHUNK):
            chunk = places[first : first + CHUNK]
            yield chunk, learn(lay_out([batches[place] for place in chunk]))


def learn_all(batches: Sequence[Batch]) -> list[Posterior]:
    """The posterior of each batch, in order."""
    found: dict[int, Posterior] = {}
    for places, posterior in learn_together(batches):
        found.update((place, take(posterior, b)) for b, place in enumerate(places))
    return [found[place] for place in range(len(batches))]
