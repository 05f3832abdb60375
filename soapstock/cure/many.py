"""Dry days of thousands of batches at once, as arrays.

The same posterior as a single forecast; only what cannot matter is left out, to be quick: mixture
parts of next to no weight, and days far from where the chance turns.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from soapstock.cure.drying import LN_DT_COUNT, LN_DT_FIRST, LN_DT_STEP, look_up
from soapstock.cure.mixture import quick_normal_cdf
from soapstock.cure.posterior import CELL_VARIANCE, LN_SECONDS, TURN_DAYS, Posterior, learn
from soapstock.cure.stack import CHUNK, Batch, lay_out

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]

HORIZON_DAYS = 730.0  # two years after the start: later dates are given as this
WEEK_DAYS = 7.0
LN_TURN = math.log(TURN_DAYS)
LEAST_SHARE = 2e-3  # of the heaviest part's weight
_COARSE = np.concatenate([[1e-3], np.geomspace(3.0, HORIZON_DAYS, 9)])
_FINE = np.linspace(0.0, 1.0, 11)
_SURELY_NOT, _SURELY = 0.04, 0.96


def dry_days(batches: Sequence[Batch], week_loss_percent: float, chances: Floats) -> Floats:
    """Days after pour by which each batch is dry with the given chances: [batches, chances].

    Args:
        batches: start, weigh-ins (in order of day, none before the start) and prior of each.
        week_loss_percent: dry means that the coming week loses less than this.
        chances: rising, between 0.05 and 0.95.
    """
    groups: dict[int, list[int]] = {}
    for place, (_, weigh_ins, _) in enumerate(batches):
        groups.setdefault(len(weigh_ins), []).append(place)
    found = np.empty((len(batches), len(chances)))
    for places in groups.values():
        for first in range(0, len(places), CHUNK):
            chunk = places[first : first + CHUNK]
            posterior = learn(lay_out([batches[place] for place in chunk]))
            starts = np.array([batches[place][0].day for place in chunk])
            found[chunk] = starts[:, None] + crossings(posterior, week_loss_percent, chances)
    return found


class _Parts:
    """The mixture parts that matter, of all batches in one row, batch after batch.

    In single precision: a chance to four places needs no more, and it is twice as fast.
    """

    def __init__(self, posterior: Posterior) -> None:
        stack, weight = posterior.stack, posterior.weight
        heavy = weight > LEAST_SHARE * weight.max(axis=(1, 2), keepdims=True)
        self.batch, hypothesis, rate = np.nonzero(heavy)
        place = (self.batch, hypothesis, rate)
        self.first = np.searchsorted(self.batch, np.arange(len(weight)))
        chosen = weight[place] / np.add.reduceat(weight[place], self.first)[self.batch]
        self.weight = _column(chosen)
        mean, cov = posterior.moments(place)
        self.mean_q, self.mean_e = (_column(mean[:, i]) for i in (0, 1))
        self.var_q, self.var_e, self.twice_cov = (
            _column(cov[:, i] * factor) for i, factor in ((0, 1.0), (1, 1.0), (2, 2.0))
        )
        ln_d = stack.ln_d[self.batch, rate]
        self.origin = _column((ln_d + LN_SECONDS - LN_DT_FIRST) / LN_DT_STEP)
        self.offset = (stack.rows[self.batch] * LN_DT_COUNT)[:, None]
        self.curves = stack.curves.astype(np.float32)
        self.bend = _column((1.0 - stack.q_mean)[self.batch])
        # Which part is its neighbour's neighbour on the grid of ln D.
        row = self.batch * weight.shape[1] + hypothesis
        joined = (np.diff(row) == 0) & (np.diff(rate) == 1)
        self.joined = _column(joined)
        neighbours = np.concatenate([joined, [False]]) + np.concatenate([[False], joined]) * 1.0
        self.share_of_steps = _column(1.0 / np.maximum(neighbours, 1.0))

    def curve(self, days: Floats) -> tuple[Singles, Singles]:
        """R and the dependence on e of each part on days [B, N]: [parts, N]."""
        ln_days = np.log(days)
        place = self.origin + (ln_days / LN_DT_STEP).astype(np.float32)[self.batch]
        share, slope = look_up(self.curves, self.offset, place)
        slope *= (ln_days - LN_TURN).astype(np.float32)[self.batch]
        slope *= self.bend
        return share, slope

    def chance_dry(self, days: Floats, keep: float) -> Floats:
        """Chance that keep times the mass of a day is under the mass a week on: [B, N]."""
        now, now_e = self.curve(days)
        later, later_e = self.curve(days + WEEK_DAYS)
        kept = np.float32(keep)
        base = now * kept - later
        q, e = (kept - np.float32(1.0)) - base, now_e * kept - later_e
        mean = base + q * self.mean_q + e * self.mean_e
        variance = q * (q * self.var_q + e * self.twice_cov) + e * e * self.var_e
        steps = np.diff(mean, axis=0) * self.joined
        step = np.zeros_like(mean)
        step[:-1] += steps
        step[1:] += steps
        step *= self.share_of_steps
        variance += step * step / np.float32(CELL_VARIANCE)
        np.maximum(variance, np.float32(1e-14), out=variance)
        np.sqrt(variance, out=variance)
        below = quick_normal_cdf(-mean / variance)
        below *= self.weight
        chance = np.add.reduceat(below, self.first, axis=0).astype(np.float64)
        rising: Floats = np.maximum.accumulate(chance, axis=1)
        return rising


def _column(values: NDArray[np.generic]) -> Singles:
    return values.astype(np.float32)[:, None]


def crossings(posterior: Posterior, week_loss_percent: float, chances: Floats) -> Floats:
    """Elapsed days at which the chance to be dry passes each level: [B, chances]."""
    parts = _Parts(posterior)
    keep = 1.0 - week_loss_percent / 100.0
    count = len(posterior.weight)
    coarse = parts.chance_dry(np.broadcast_to(_COARSE, (count, len(_COARSE))), keep)
    last = len(_COARSE) - 1
    after = np.minimum((coarse < _SURELY).sum(axis=1), last)
    before = np.clip((coarse < _SURELY_NOT).sum(axis=1) - 1, 0, after)
    low, high = _COARSE[before][:, None], _COARSE[after][:, None]
    days = low * (high / low) ** _FINE
    chance = parts.chance_dry(days, keep)
    days[:, 0] = np.where(before == 0, 0.0, days[:, 0])
    # Chances turn like a logistic curve, so between nodes their logits run nearly straight.
    curve, wanted = _logit(chance), _logit(chances)
    return np.stack([np.interp(wanted, c, d) for c, d in zip(curve, days, strict=True)])


def _logit(chance: Floats) -> Floats:
    inside = np.clip(chance, 1e-9, 1.0 - 1e-9)
    result: Floats = np.log(inside / (1.0 - inside))
    return result
