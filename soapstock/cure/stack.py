"""Laying batches side by side in arrays, and taking one back out."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from soapstock.cure.batch import BatchStart, WeighIn, reading_errors
from soapstock.cure.drying import LN_DT_COUNT, Faces, curve_table
from soapstock.cure.posterior import GRID_HALF_WIDTH, GRID_STEP, Posterior, Stack, learn
from soapstock.cure.prior import Prior, default_shape, table
from soapstock.recipes.bars import BarShape

Floats = NDArray[np.float64]
Batch = tuple[BatchStart, Sequence[WeighIn], Prior]

CHUNK = 64  # batches worked on at once: small enough for the processor's cache


@lru_cache(maxsize=256)
def grid_of(prior: Prior, shape_known: bool) -> tuple[Floats, Floats]:
    """The grid of ln D and the log weight the prior gives each point."""
    offset = np.arange(-GRID_HALF_WIDTH, GRID_HALF_WIDTH + GRID_STEP / 2.0, GRID_STEP)
    extra = 0.0 if shape_known else table("default_bar")["ln_diffusivity_extra_sd"]
    sd, wide = math.hypot(prior.ln_d_sd, extra), math.hypot(prior.surprise_sd, extra)
    kin = (1.0 - prior.surprise_share) * np.exp(-0.5 * (offset / sd) ** 2) / sd
    other = prior.surprise_share * np.exp(-0.5 * (offset / wide) ** 2) / wide
    weight = kin + other + 1e-300
    return prior.ln_d_mean + offset, np.log(weight / weight.sum())


def end_share(start: BatchStart, prior: Prior) -> tuple[float, float]:
    """Mean and standard deviation of the end mass as a share of the start mass."""
    dry = 1.0 - start.water_fraction
    end = 1.0 - prior.end_percent_mean / 100.0
    return dry / end, dry / end**2 * prior.end_percent_sd / 100.0


def lay_out(batches: Sequence[Batch]) -> Stack:
    """A stack of batches that all have the same number of readings."""
    shapes: dict[tuple[BarShape, Faces], int] = {}
    rows, grids, ends = [], [], []
    for start, _, prior in batches:
        shape = start.shape or default_shape(start.mass_per_bar_g)
        rows.append(shapes.setdefault((shape, start.faces), len(shapes)))
        grids.append(grid_of(prior, start.shape is not None))
        ends.append(end_share(start, prior))
    tables = [curve_table(*key) for key in shapes]
    starts = np.array(
        [(s.day, s.mass_per_bar_g, s.scale_step_g, s.bars or 0) for s, _, _ in batches]
    )
    seen = np.array([[(w.day, w.mass_g, w.bars) for w in weigh_ins] for _, weigh_ins, _ in batches])
    seen = seen.reshape(len(batches), len(batches[0][1]), 3)
    day, mass, step, known = starts.T
    bars = seen[..., 2]
    counted = np.maximum(known, 1.0)[:, None]
    return Stack(
        curves=np.concatenate(tables),
        rows=np.array(rows, dtype=np.intp),
        t=seen[..., 0] - day[:, None],
        y=seen[..., 1] / bars / mass[:, None],
        noise=reading_errors(step / mass, known, bars),
        start_noise=reading_errors(step / mass, known, counted)[:, 0],
        ln_d=np.stack([grid for grid, _ in grids]),
        ln_prior=np.stack([weight for _, weight in grids]),
        q_mean=np.array([mean for mean, _ in ends]),
        q_sd=np.array([sd for _, sd in ends]),
    )


def take(posterior: Posterior, b: int) -> Posterior:
    """The posterior of batch b alone, as a stack of one."""
    one = slice(b, b + 1)
    s = posterior.stack
    row = int(s.rows[b])
    qq, ee, qe, rq, re = posterior.information
    stack = replace(
        s, curves=s.curves[row * LN_DT_COUNT : (row + 1) * LN_DT_COUNT],
        rows=np.zeros(1, dtype=np.intp), t=s.t[one], y=s.y[one], noise=s.noise[one],
        start_noise=s.start_noise[one], ln_d=s.ln_d[one], ln_prior=s.ln_prior[one],
        q_mean=s.q_mean[one], q_sd=s.q_sd[one],
    )  # fmt: skip
    return Posterior(
        stack=stack, weight=posterior.weight[one],
        information=(qq[one], ee[one], qe[one], rq[one], re[one]),
        precision=posterior.precision[one], weather=posterior.weather,
    )  # fmt: skip


def learn_all(batches: Sequence[Batch]) -> list[Posterior]:
    """The posterior of each batch, in order; batches with equally many readings go together."""
    groups: dict[int, list[int]] = {}
    for place, (_, weigh_ins, _) in enumerate(batches):
        groups.setdefault(len(weigh_ins), []).append(place)
    found: dict[int, Posterior] = {}
    for places in groups.values():
        for first in range(0, len(places), CHUNK):
            chunk = places[first : first + CHUNK]
            posterior = learn(lay_out([batches[place] for place in chunk]))
            found.update((place, take(posterior, b)) for b, place in enumerate(chunk))
    return [found[place] for place in range(len(batches))]
