"""Dry days of thousands of batches at once, as arrays.

The same posterior as a single forecast; only what cannot matter is left out, to be quick: mixture
parts of next to no weight, and days far from where the chance turns.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from soapstock.cure.curves import FAMILIES, SKINS, add_slow_rest, even_bend, skin_and_core
from soapstock.cure.drying import LN_DT_COUNT, LN_DT_FIRST, LN_DT_STEP, look_up
from soapstock.cure.mixture import quick_normal_cdf
from soapstock.cure.outlook import CELL_VARIANCE
from soapstock.cure.posterior import LN_SECONDS, Posterior, learn
from soapstock.cure.stack import CHUNK, Batch, lay_out

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]

HORIZON_DAYS = 730.0  # two years after the start: later dates are given as this
WEEK_DAYS = 7.0
LEAST_SHARE = 2e-3  # of the heaviest part's weight
_COARSE = np.concatenate([[1e-3], np.geomspace(3.0, HORIZON_DAYS, 9)])
_FINE = np.linspace(0.0, 1.0, 11)
LARGE_BLOCK_BYTES = 28 << 20
_SURELY_NOT, _SURELY = 0.04, 0.96


def dry_days(batches: Sequence[Batch], week_loss_percent: float, chances: Floats) -> Floats:
    """Days after pour by which each batch is dry with the given chances: [batches, chances].

    Args:
        batches: start, weigh-ins (in order of day, none before the start) and prior of each.
        week_loss_percent: dry means that the coming week loses less than this.
        chances: rising, between 0.05 and 0.95.
    """
    _keep_freed_memory()
    groups: dict[int, list[int]] = {}
    for place, (_, weigh_ins, _) in enumerate(batches):
        groups.setdefault(len(weigh_ins), []).append(place)
    found = np.empty((len(batches), len(chances)))
    for places in groups.values():
        for first in range(0, len(places), CHUNK):
            chunk = places[first : first + CHUNK]
            posterior = learn(lay_out([batches[place] for place in chunk], single=True))
            starts = np.array([batches[place][0].day for place in chunk])
            found[chunk] = starts[:, None] + crossings(posterior, week_loss_percent, chances)
    return found


def _keep_freed_memory() -> None:
    """Let the C library keep what it frees, instead of giving it back after each chunk.

    glibc does so once it has freed one block nearly as large as this (mallopt(3),
    M_MMAP_THRESHOLD); the block is never touched. Giving back and fetching anew took a quarter of
    the time and more. Elsewhere it does nothing.
    """
    np.empty(LARGE_BLOCK_BYTES, dtype=np.uint8)


class _Parts:
    """The mixture parts that matter, of all batches in one row, batch after batch.

    What the hypotheses say of one cell is taken together as one Gaussian of the same mean and
    covariance. In single precision: a chance to four places needs no more, and it is twice as fast.
    """

    def __init__(self, posterior: Posterior) -> None:
        stack = posterior.stack
        self.batch, cell, weight, mean, cov = _merged(posterior)
        self.first = np.searchsorted(self.batch, np.arange(len(posterior.weight)))
        self.weight = _column(weight)
        self.mean = [_column(of_one) for of_one in mean.T]
        self.cov = [
            [_column(cov[:, i, j] * (1 + (j < i))) for j in range(i + 1)]
            for i in range(len(self.mean))
        ]
        family, step = np.divmod(cell, stack.ln_d.shape[1] // FAMILIES)
        self.even, self.skin = np.flatnonzero(family == 0), np.flatnonzero(family > 0)
        ln_d = stack.ln_d[self.batch, cell] + LN_SECONDS
        self.origin = _column((ln_d - LN_DT_FIRST)[self.even] / LN_DT_STEP)
        which = family[self.skin] - 1
        figures = np.array([(s.late, s.ratio, s.share, s.share_sd) for s in SKINS])[which].T
        self.ln_late = _column(ln_d + stack.ln_late[self.batch])
        self.form = tuple(_column(figure) for figure in figures)
        self.offset = (stack.rows[self.batch] * LN_DT_COUNT)[self.even, None]
        self.curves = stack.curves.astype(np.float32)
        self.bend = _column((1.0 - stack.q_mean)[self.batch])
        # Which part is its neighbour's neighbour on the grid of ln D.
        joined = (np.diff(self.batch) == 0) & (np.diff(cell) == 1) & (step[1:] > 0)
        self.joined = _column(joined)
        neighbours = np.concatenate([joined, [False]]) + np.concatenate([[False], joined]) * 1.0
        self.share_of_steps = _column(1.0 / np.maximum(neighbours, 1.0))

    def curve(self, days: Floats) -> tuple[Singles, Singles, Singles]:
        """R and the dependence on e and s of each part on days [B, N]: [parts, N]."""
        ln_days = np.log(days).astype(np.float32)
        share = np.empty((len(self.batch), days.shape[1]), dtype=np.float32)
        bend = np.empty_like(share)
        place = self.origin + (ln_days / np.float32(LN_DT_STEP))[self.batch[self.even]]
        even, slope = look_up(self.curves, self.offset, place)
        share[self.even] = even
        bend[self.even] = slope * even_bend(days).astype(np.float32)[self.batch[self.even]]
        late = np.exp(self.ln_late + ln_days[self.batch])
        rate, *form = self.form
        share[self.skin], bend[self.skin] = skin_and_core(late[self.skin] * rate, *form)
        rest = add_slow_rest(share, bend, late)
        bend *= self.bend
        rest *= self.bend
        return share, bend, rest

    def chance_dry(self, days: Floats, keep: float) -> Floats:
        """Chance that keep times the mass of a day is under the mass a week on: [B, N]."""
        count, kept = days.shape[1], np.float32(keep)
        curves = self.curve(np.concatenate([days, days + WEEK_DAYS], axis=1))
        mean, *levers = (part[:, :count] * kept - part[:, count:] for part in curves)
        levers = [(kept - np.float32(1.0)) - mean, *levers]
        variance = np.zeros_like(mean)
        for lever, middle, row in zip(levers, self.mean, self.cov, strict=True):
            mean += lever * middle
            spread = lever * row[-1]
            for other, cov in zip(levers, row[:-1], strict=False):
                spread += other * cov
            spread *= lever
            variance += spread
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


def _merged(
    posterior: Posterior,
) -> tuple[NDArray[np.intp], NDArray[np.intp], Floats, Floats, Floats]:
    """Batch, cell and weight of the parts that matter; mean and covariance of (q, e, s)."""
    weight = posterior.weight.transpose(0, 2, 1)
    heavy = weight > LEAST_SHARE * weight.max(axis=(1, 2), keepdims=True)
    batch, cell, hypothesis = np.nonzero(heavy)
    mean, cov = posterior.moments((batch, hypothesis, cell))
    share = weight[batch, cell, hypothesis].astype(np.float64)
    first = np.flatnonzero(np.diff(batch * weight.shape[1] + cell, prepend=-1))
    total = np.add.reduceat(share, first)

    def mixed(values: Floats) -> Floats:
        flat = values.reshape(len(share), -1)
        sums = np.add.reduceat(flat * share[:, None], first) / total[:, None]
        return np.asarray(sums.reshape(-1, *values.shape[1:]))

    middle = mixed(mean)
    gap = mean - np.repeat(middle, np.diff(first, append=len(share)), axis=0)
    cov = mixed(cov + gap[:, :, None] * gap[:, None, :])
    batch, cell = batch[first], cell[first]
    of_batch = np.bincount(batch, total)
    return batch, cell, total / of_batch[batch], middle, cov


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
    return _interpolate(_logit(chances), _logit(chance), days)


def _interpolate(wanted: Floats, rising: Floats, values: Floats) -> Floats:
    """Values [B, Q] at which rising [B, N] passes each wanted [Q]; the end values beyond."""
    last = rising.shape[1] - 1
    right = np.clip((rising[:, None, :] < wanted[:, None]).sum(-1), 1, last)
    below, above = (np.take_along_axis(rising, right - i, axis=1) for i in (1, 0))
    first, second = (np.take_along_axis(values, right - i, axis=1) for i in (1, 0))
    share = np.clip((wanted - below) / np.maximum(above - below, 1e-12), 0.0, 1.0)
    found: Floats = first + share * (second - first)
    return found


def _logit(chance: Floats) -> Floats:
    inside = np.clip(chance, 1e-9, 1.0 - 1e-9)
    result: Floats = np.log(inside / (1.0 - inside))
    return result
