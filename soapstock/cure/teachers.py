"""What the shop's finished batches teach the next one: its prior, by partial pooling.

Each finished batch gives an estimate of x = (ln D, end moisture) with its error, from its weigh-ins
alone. The batches' x are taken as a shop's common value plus a part of the recipe, of the room, of
the season and of the batch itself, all Gaussian with the spreads of [teachers] in
tables/cure/drying.toml;
their squares add up to the weak prior, so that without batches the weak prior comes out. The prior
of a new batch is the conditional Gaussian given all estimates (the best linear unbiased predictor):
its own recipe counts most, other recipes in its room and season count less, and the more batches,
the narrower. How much batches differ for no reason is itself fitted once there are enough. A batch
far from the others is given less weight, so that one damp rack does not teach all.

Which family of curves the shop's batches follow (cure/curves.py) is learnt as one share of the
whole shop: uniform beforehand, each finished batch's evidence for skin and core weighs it.

Source: ordinary mixed-model algebra; the split of spreads is ours and assumed.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from soapstock.cure.batch import BatchStart, WeighIn
from soapstock.cure.curves import FAMILIES
from soapstock.cure.posterior import GRID_COUNT, Posterior
from soapstock.cure.prior import WEAK_PRIOR, Prior, table
from soapstock.cure.stack import learn_together

Floats = NDArray[np.float64]

_BATCH_SCALES = (0.5, 0.75, 1.0, 1.5, 2.0)  # tried on the batch's own part
_BATCHES_TO_FIT = 6
LEAST_CHANCE = 1e-12
_FAR_SDS = 2.0
_ROUNDS = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """What batches have in common, by which one teaches another.

    Attributes:
        recipe: recipe code.
        room: where the bars dry, such as `rack`.
        season: any name of the time of year; see season_of.
    """

    recipe: str
    room: str = ""
    season: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Finished:
    """A batch that may teach: its name, kind, start and weigh-ins in order of day."""

    lot: str
    kind: Kind
    start: BatchStart
    weigh_ins: tuple[WeighIn, ...]


def season_of(month: int) -> str:
    """The quarter of the year a month (1 to 12) lies in, December with January."""
    return ("Dec-Feb", "Mar-May", "Jun-Aug", "Sep-Nov")[month % 12 // 3]


def is_finished(start: BatchStart, weigh_ins: Sequence[WeighIn]) -> bool:
    """Whether a batch has weigh-ins enough, over days enough, to teach others."""
    row = table("teachers")
    days = [w.day - start.day for w in weigh_ins if w.day > start.day]
    return bool(len(days) >= row["least_weigh_ins"] and max(days) >= row["least_days"])


class Teachers:
    """The shop's finished batches, ready to be asked for priors.

    Args:
        batches: all batches; those not finished are left out.
    """

    def __init__(self, batches: Sequence[Finished]) -> None:
        self.batches = tuple(b for b in batches if is_finished(b.start, b.weigh_ins))
        count = len(self.batches)
        self._values, self._errors = np.empty((count, 2)), np.empty((count, 2, 2))
        self._odds = np.empty(count)
        jobs = [(b.start, b.weigh_ins, WEAK_PRIOR) for b in self.batches]
        for places, learnt in learn_together(jobs):
            water = np.array([self.batches[i].start.water_fraction for i in places])
            self._values[places], self._errors[places] = _estimates(water, learnt)
            self._odds[places] = _skin_odds(learnt)
        self._solved: dict[tuple[int, ...], _Taught] = {}

    def prior(
        self, kind: Kind, *, without: str = "", among: Collection[str] | None = None
    ) -> Prior:
        """The prior of a batch of a kind.

        Args:
            kind: its recipe, room and season.
            without: lot to leave out, so that a finished batch does not teach itself.
            among: only these lots teach, such as those poured earlier; all when None.
        """
        kept = [
            i
            for i, b in enumerate(self.batches)
            if b.lot != without and (among is None or b.lot in among)
        ]
        if len(kept) < table("teachers")["least_batches"]:
            return WEAK_PRIOR
        return _predict(self._taught(tuple(kept)), kind)

    def _taught(self, kept: tuple[int, ...]) -> _Taught:
        """What these batches teach together; solved once for each set."""
        if kept not in self._solved:
            places = list(kept)
            self._solved[kept] = _learn(
                [self.batches[i].kind for i in kept],
                self._values[places],
                self._errors[places],
                self._odds[places],
            )
        return self._solved[kept]


def _estimates(water: Floats, posterior: Posterior) -> tuple[Floats, Floats]:
    """(ln D, end percent) of each batch by its readings alone, and the covariance of its error.

    The weak prior, which went into the posterior, is taken out again.

    Args:
        water: [B] share of water when drying began.
        posterior: of the B batches.

    Returns:
        [B, 2] and [B, 2, 2].
    """
    weight = posterior.weight
    moments, spreads = posterior.moments()
    dry = (1.0 - water)[:, None, None]
    q = moments[..., 0]
    end_variance = (100.0 * dry / q**2) ** 2 * spreads[..., 0, 0]
    ln_d = np.broadcast_to(posterior.stack.ln_d[:, None, :], weight.shape)
    values = np.stack([ln_d, 100.0 * (1.0 - dry / q)], axis=1)
    mean = (weight[:, None] * values).sum(axis=(2, 3))
    gap = values - mean[:, :, None, None]
    covariance = np.einsum("bhj,bxhj,byhj->bxy", weight, gap, gap)
    covariance[:, 1, 1] += (weight * end_variance).sum(axis=(1, 2))
    covariance[:, 0, 0] += (posterior.stack.ln_d[:, 1] - posterior.stack.ln_d[:, 0]) ** 2 / 12.0
    before = np.array([WEAK_PRIOR.ln_d_mean, WEAK_PRIOR.end_percent_mean])
    before_information = np.diag([WEAK_PRIOR.ln_d_sd**-2, WEAK_PRIOR.end_percent_sd**-2])
    after_information = np.linalg.inv(covariance)
    scale = np.sqrt(np.diag(before_information))
    two_scales = scale[:, None] * scale[None, :]
    sizes, axes = np.linalg.eigh((after_information - before_information) / two_scales)
    sizes = np.maximum(sizes, 1e-3)  # a batch that says next to nothing keeps a huge error
    error = (axes / sizes[:, None, :]) @ np.swapaxes(axes, 1, 2) / two_scales
    pull = after_information @ mean[..., None] - (before_information @ before)[:, None]
    return (error @ pull)[..., 0], error


def _skin_odds(posterior: Posterior) -> Floats:
    """How many times likelier each batch's readings are as skin and core than as an even bar."""
    by_family = posterior.weight.reshape(*posterior.weight.shape[:2], FAMILIES, GRID_COUNT)
    chance = by_family.sum(axis=(1, 3))
    before = WEAK_PRIOR.skin_chance / (1.0 - WEAK_PRIOR.skin_chance)
    odds: Floats = chance[:, 1:].sum(axis=1) / np.maximum(chance[:, 0], LEAST_CHANCE) / before
    return odds


def skin_share(odds: Floats) -> float:
    """Chance that the shop's next batch dries as skin and core, by the odds of those before it."""
    share = np.linspace(0.005, 0.995, 100)
    ln_like = np.log1p(share[:, None] * (odds - 1.0)).sum(axis=1)
    weight = np.exp(ln_like - ln_like.max())
    return float((weight * share).sum() / weight.sum())


def _variances(part: str) -> Floats:
    row = table("teachers")
    return np.array([row[f"{part}_ln_d_sd"] ** 2, row[f"{part}_end_sd_percent"] ** 2])


def _between(a: Sequence[Kind], b: Sequence[Kind]) -> Floats:
    """Prior covariance [A, B, 2] of x between batches, their own parts left out."""
    weak = np.array([WEAK_PRIOR.ln_d_sd**2, WEAK_PRIOR.end_percent_sd**2])
    parts = {part: _variances(part) for part in ("recipe", "room", "season")}
    shop = weak - sum(parts.values()) - _variances("batch")
    found = np.broadcast_to(shop, (len(a), len(b), 2)).copy()
    for part, variances in parts.items():
        left, right = ([getattr(kind, part) for kind in kinds] for kinds in (a, b))
        same = np.array([[x == y for y in right] for x in left])
        found += same[..., None] * variances
    return found


@dataclass(frozen=True, slots=True)
class _Fit:
    """Solved joint Gaussian of the estimates: inverse covariance, and it times the gaps."""

    inverse: Floats
    pull: Floats
    own: Floats


def _solve(kinds: Sequence[Kind], values: Floats, errors: Floats) -> _Fit:
    count = len(kinds)
    centre = np.array([WEAK_PRIOR.ln_d_mean, WEAK_PRIOR.end_percent_mean])
    gaps = (values - centre).reshape(-1)
    shared = _blocks(_between(kinds, kinds))
    stretch = np.ones(count)
    scales = _BATCH_SCALES if count >= _BATCHES_TO_FIT else (1.0,)
    best: tuple[float, _Fit] | None = None
    for _ in range(_ROUNDS):
        best = None
        for scale in scales:
            own = _variances("batch") * scale**2
            whole = shared + _diagonal(errors * stretch[:, None, None] + np.diag(own))
            inverse: Floats = np.asarray(np.linalg.inv(whole), dtype=np.float64)
            pull = inverse @ gaps
            # A half-normal pull towards the assumed spread keeps few batches from overfitting it.
            score = -0.5 * (gaps @ pull + np.linalg.slogdet(whole)[1]) - math.log(scale) ** 2
            if best is None or score > best[0]:
                best = (score, _Fit(inverse, pull, own))
        assert best is not None  # noqa: S101 - the loop ran
        left_out = _left_out_gaps(best[1], count)
        stretch *= np.maximum(1.0, left_out / _FAR_SDS) ** 2
    assert best is not None  # noqa: S101 - the loop ran
    return best[1]


def _blocks(between: Floats) -> Floats:
    """[A, B, 2] to [2A, 2B], the two of a batch side by side."""
    rows, columns, _ = between.shape
    found = np.zeros((rows, 2, columns, 2))
    for part in (0, 1):
        found[:, part, :, part] = between[..., part]
    return found.reshape(2 * rows, 2 * columns)


def _diagonal(errors: Floats) -> Floats:
    count = len(errors)
    found = np.zeros((count, 2, count, 2))
    place = np.arange(count)
    found[place, :, place, :] = errors
    return found.reshape(2 * count, 2 * count)


def _left_out_gaps(fit: _Fit, count: int) -> Floats:
    """How many sds each batch's ln D lies off what the others say of it."""
    place = 2 * np.arange(count)
    return np.asarray(np.abs(fit.pull[place]) / np.sqrt(fit.inverse[place, place]))


@dataclass(frozen=True, slots=True)
class _Taught:
    """A set of batches solved: their kinds, the fit and the share of skin and core."""

    kinds: list[Kind]
    fit: _Fit
    skin_chance: float


def _learn(kinds: Sequence[Kind], values: Floats, errors: Floats, odds: Floats) -> _Taught:
    return _Taught(list(kinds), _solve(kinds, values, errors), skin_share(odds))


def _predict(taught: _Taught, kind: Kind) -> Prior:
    fit, asked = taught.fit, [kind]
    cross = _blocks(_between(asked, taught.kinds))
    mean = cross @ fit.pull + [WEAK_PRIOR.ln_d_mean, WEAK_PRIOR.end_percent_mean]
    own = np.diag(_blocks(_between(asked, asked))) + fit.own
    variance = np.maximum(own - np.einsum("ab,bc,ac->a", cross, fit.inverse, cross), fit.own / 4)
    row = table("teachers")
    count, same = len(taught.kinds), sum(k.recipe == kind.recipe for k in taught.kinds)
    return Prior(
        ln_d_mean=float(mean[0]),
        ln_d_sd=float(np.sqrt(variance[0])),
        end_percent_mean=float(np.clip(mean[1], 0.0, 40.0)),
        end_percent_sd=float(np.sqrt(variance[1])),
        surprise_share=row["surprise_share"],
        surprise_sd=row["surprise_ln_d_sd"],
        skin_chance=taught.skin_chance,
        basis=f"{count} finished batches of this shop, {same} of this recipe",
        batches=count,
    )
