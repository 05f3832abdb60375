"""Minutes to trace, learnt from a shop's own pots.

The logarithm of the minutes is a sum: what is usual, so much for each degree and for the strength
of the lye, so much for a scent, and what this recipe differs. Scents share what scent does at all,
and each then differs by its own (partly pooled), so that a scent used once borrows from the others.
A pot that seized says only that it was quicker than its minutes (censored from the left).

The coefficients are found for a given scatter by Newton's method on the log posterior, which has
one peak (normal densities and their tails are log-concave); the scatter is summed over a grid, each
weighed by Laplace's approximation (Gelman and others, Bayesian Data Analysis, 3rd ed., 2013,
section 13.3, from memory).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from soapstock.chemistry.interval import Interval

Floats = NDArray[np.float64]

# What is believed before any pot: warmer and stronger lye are quicker (common practice, no source).
_USUAL = (math.log(10.0), 1.5)  # ln minutes: mean, sd
_PER_10_C = (-0.3, 0.3)
_PER_5_PERCENT = (-0.2, 0.3)
_SCENT_AT_ALL = (0.0, 0.5)
_ONE_SCENT = (0.0, 0.4)
_ONE_RECIPE = (0.0, 0.4)
_LN_SCATTER = (math.log(0.35), 0.5)
_MIDDLE_C, _MIDDLE_PERCENT = 40.0, 33.0
_FEWEST = 3  # pots timed before anything is said; ours
_WIDEST = 10.0  # an answer whose ends differ by more is none; ours
_STEPS = 60


@dataclass(frozen=True, slots=True, kw_only=True)
class Pot:
    """One pot.

    Attributes:
        temp_c: of lye and fats when they met, C; None when nobody wrote it down.
        lye_percent: hydroxide, % of the lye solution.
        minutes: to trace, or until it seized; None when not known.
    """

    recipe: str
    scents: tuple[str, ...]
    temp_c: float | None
    lye_percent: float
    minutes: float | None = None
    seized: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Fitted:
    """Coefficients for one scatter: their mode, their covariance, and the log evidence."""

    mode: Floats
    covariance: Floats
    evidence: float


def fit(
    x: Floats, ln_minutes: Floats, seized: NDArray[np.bool_], prior: Floats, scatter: float
) -> Fitted:
    """The coefficients for a given scatter.

    Args:
        x: what each pot was, [pots, coefficients].
        prior: mean and sd of each coefficient, [coefficients, 2].
        scatter: sd of the logarithm between like pots.
    """
    mean, weight = prior[:, 0], 1.0 / prior[:, 1] ** 2
    beta = mean.copy()
    hessian = np.diag(weight)
    value = -math.inf
    for _ in range(_STEPS):
        z = (ln_minutes - x @ beta) / scatter
        ratio, curve = _tails(z)
        slope = np.where(seized, -ratio, z) / scatter
        bend = np.where(seized, curve, 1.0) / scatter**2
        hessian = (x.T * bend) @ x + np.diag(weight)
        step = np.linalg.solve(hessian, x.T @ slope - weight * (beta - mean))
        value = _ln_posterior(z, seized, scatter) - 0.5 * float(weight @ (beta - mean) ** 2)
        beta = beta + step
        if float(np.abs(step).max()) < 1e-10:  # noqa: PLR2004
            break
    sign, ln_det = np.linalg.slogdet(hessian)
    evidence = value + 0.5 * float(np.log(weight).sum()) - 0.5 * float(ln_det) * sign
    return Fitted(
        mode=beta,
        covariance=np.asarray(np.linalg.inv(hessian), dtype=np.float64),
        evidence=evidence,
    )


_NORMAL = NormalDist()


def _tails(z: Floats) -> tuple[Floats, Floats]:
    """Density over lower tail, and the bend of the tail's logarithm, for each z."""
    ratio = np.array([_mills(float(each)) for each in z])
    return ratio, ratio * (ratio + z)


def _mills(z: float) -> float:
    if z < -30.0:  # noqa: PLR2004  # the tail drowns; the first terms of its series stand for it
        return -z - 1.0 / z
    return _NORMAL.pdf(z) / _below(z)


def _below(z: float) -> float:
    """The lower tail; exact far down, where one less the upper tail is not."""
    return 0.5 * math.erfc(-z / math.sqrt(2.0))


def _ln_posterior(z: Floats, seized: NDArray[np.bool_], scatter: float) -> float:
    timed = -0.5 * z**2 - math.log(scatter * math.sqrt(2.0 * math.pi))
    tail = [math.log(max(_below(float(each)), 1e-300)) for each in z]
    return float(np.where(seized, tail, timed).sum())


def minutes_to_trace(pots: Sequence[Pot], like: Pot) -> Interval | None:
    """Minutes to trace of a pot, with ends that hold 90 %; None while too little is known.

    Args:
        pots: the shop's own pots; those without minutes teach nothing.
    """
    known = [pot for pot in pots if pot.minutes is not None and pot.minutes > 0]
    if sum(not pot.seized for pot in known) < _FEWEST:
        return None
    scents = sorted({s for pot in [*known, like] for s in pot.scents})
    recipes = sorted({pot.recipe for pot in [*known, like]})
    temps = [pot.temp_c for pot in known if pot.temp_c is not None]
    usual_c = sum(temps) / len(temps) if temps else _MIDDLE_C
    x = np.array([_row(pot, scents, recipes, usual_c) for pot in known])
    mine = np.array(_row(like, scents, recipes, usual_c))
    fixed = [_USUAL, _PER_10_C, _PER_5_PERCENT, _SCENT_AT_ALL]
    prior = np.array([*fixed, *([_ONE_SCENT] * len(scents)), *([_ONE_RECIPE] * len(recipes))])
    ln_minutes = np.log([pot.minutes or 0.0 for pot in known])
    seized = np.array([pot.seized for pot in known])
    parts = []
    for ln_scatter in np.linspace(_LN_SCATTER[0] - 1.5, _LN_SCATTER[0] + 1.5, 25):
        scatter = math.exp(ln_scatter)
        found = fit(x, ln_minutes, seized, prior, scatter)
        ln_weight = found.evidence - 0.5 * ((ln_scatter - _LN_SCATTER[0]) / _LN_SCATTER[1]) ** 2
        sd = math.sqrt(scatter**2 + float(mine @ found.covariance @ mine))
        parts.append((ln_weight, NormalDist(float(mine @ found.mode), sd)))
    told = _quantiles(parts)
    return told if told.high <= _WIDEST * told.low else None


def _row(pot: Pot, scents: Sequence[str], recipes: Sequence[str], usual_c: float) -> list[float]:
    temp_c = usual_c if pot.temp_c is None else pot.temp_c
    return [
        1.0,
        (temp_c - _MIDDLE_C) / 10.0,
        (pot.lye_percent - _MIDDLE_PERCENT) / 5.0,
        float(bool(pot.scents)),
        *(float(scent in pot.scents) for scent in scents),
        *(float(recipe == pot.recipe) for recipe in recipes),
    ]


def _quantiles(parts: Sequence[tuple[float, NormalDist]]) -> Interval:
    """5, 50 and 95 % of minutes, of a mixture on the logarithm."""
    top = max(weight for weight, _ in parts)
    weights = [math.exp(weight - top) for weight, _ in parts]
    total = sum(weights)

    def below(ln: float) -> float:
        sums = (w * n.cdf(ln) for w, (_, n) in zip(weights, parts, strict=True))
        return sum(sums) / total

    def at(chance: float) -> float:
        low, high = -10.0, 15.0
        for _ in range(_STEPS):
            middle = (low + high) / 2.0
            low, high = (middle, high) if below(middle) < chance else (low, middle)
        return math.exp(low)

    return Interval(low=at(0.05), nominal=at(0.5), high=at(0.95))
