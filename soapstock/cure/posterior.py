"""What the weigh-ins teach: the posterior of drying rate, end mass and curve shape, many at once.

Mass of a bar as a share of its start mass, at elapsed days t since drying began:

    y(t) = R + (1 - R) q + (1 - qbar) e R' + w(t)

R(D t) is the share of the water to be lost still in the bar and R' its change by e, both of one
of the families of cure/curves.py; q the end mass (from the end moisture, q = (1 - w0) / (1 - me),
w0 the start water); e a standard normal number, how far this batch's curve is bent within its
family; qbar the prior mean of q; w(t) a wander with the weather (an Ornstein-Uhlenbeck walk that is
zero at the start) plus the one error of the start mass, which all later masses share.

Only the family and ln D are not linear. So they run over a grid of cells; for each cell q and e are
Gaussian in closed form, given the readings; and the weight of each cell is its prior times the
likelihood of the readings. The same is done for calm and for changing weather, and, to be robust,
with each reading left out in turn as if that one were wrong, at a prior chance of 3 % each; at most
one reading is taken to be wrong. All answers are mixtures of Gaussians over [hypothesis, cell].
Everything carries a leading batch axis [B].

Source: ordinary conjugate Gaussian algebra; the model is ours, its figures stand in
tables/cure/drying.toml. Calibration: tests/bench/cure_calibration.py.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from soapstock.cure.curves import FAMILIES, even_bend, ratios, skin_and_core
from soapstock.cure.drying import (
    LN_DT_COUNT,
    LN_DT_FIRST,
    LN_DT_STEP,
    SECONDS_PER_DAY,
    look_up,
)
from soapstock.cure.prior import table
from soapstock.cure.sweep import invert

Floats = NDArray[np.float64]

GRID_HALF_WIDTH = 1.8  # in ln D: from a sixth to six times the prior's D
GRID_COUNT = 19
LN_SECONDS = math.log(SECONDS_PER_DAY)
FIRST_MOMENT_DAYS = 1e-6
LEAST_FIRM = 1e-6  # of a reading's own precision: below it rounding errors rule


@dataclass(frozen=True, slots=True, kw_only=True)
class Stack:
    """Batches with the same number of readings, ready for the arithmetic. B batches, K readings.

    A cell is a family and a value of ln D, family by family: J = FAMILIES * grid.

    Attributes:
        curves: [S * table] Fick's R by ln(D t), one after another, see drying.curve_table. In
            single precision the posterior is worked out so, too.
        rows: [B] which curve each batch follows.
        ln_late: [B] ln of the late rate over D, see curves.ln_late_rate.
        t: [B, K] elapsed days of the readings, since drying began.
        y: [B, K] readings as shares of the start mass.
        noise: [B, K] standard deviation of each.
        start_noise: [B] standard deviation of the start mass, as a share.
        ln_d: [B, J] ln D of each cell.
        ln_prior: [B, J] log prior weight of each.
        q_mean: [B] prior mean of the end mass as a share of the start mass.
        q_sd: [B] its standard deviation.
    """

    curves: NDArray[Any]
    rows: NDArray[np.intp]
    ln_late: Floats
    t: Floats
    y: Floats
    noise: Floats
    start_noise: Floats
    ln_d: Floats
    ln_prior: Floats
    q_mean: Floats
    q_sd: Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class Posterior:
    """Mixture of Gaussians over H hypotheses and J cells.

    The hypotheses are, for each of L weathers in turn: all readings sound, then each wrong.

    Attributes:
        stack: what it was made from.
        weight: [B, H, J], adds to 1 over H and J.
        mean: [2, B, L, J] means of q and e with all readings sound.
        cov: [3, B, L, J] variances of q and e and their covariance, likewise.
        pull: [2, B, L, K, J] how each reading pulls on q and on e.
        gap: [B, L, K, J] how far each reading is off what all others say, times its precision ...
        firm: [B, L, K, J] ... and that precision, the inverse of the variance of that gap.
        whole: [B, L, K, K] precision of the readings about the curve, weather and start error
            included.
        weather: [L] standard deviation of the weather's wander, as a share of the start mass.
    """

    stack: Stack
    weight: NDArray[Any]
    mean: NDArray[Any]
    cov: NDArray[Any]
    pull: NDArray[Any]
    gap: NDArray[Any]
    firm: NDArray[Any]
    whole: Floats
    weather: Floats

    def moments(self, place: tuple[NDArray[np.intp], ...] | None = None) -> tuple[Floats, Floats]:
        """Mean of (q, e) [..., 2], and variances of q and e and their covariance [..., 3].

        Without a reading they follow from those with it by one rank-one step (Sherman-Morrison).

        Args:
            place: indices into [B, H, J] to take; None takes all, [B, H, J, ...].
        """
        if place is None:
            place = tuple(np.ix_(*(np.arange(size) for size in self.weight.shape)))
        batch, hypothesis, cell = place
        level, out = np.divmod(hypothesis, self.stack.y.shape[1] + 1)
        q, e = self.mean[:, batch, level, cell].astype(np.float64)
        qq, ee, qe = self.cov[:, batch, level, cell].astype(np.float64)
        if self.stack.y.shape[1]:
            reading = (batch, level, np.maximum(out - 1, 0), cell)
            pull_q, pull_e = self.pull[:, *reading].astype(np.float64)
            push_q, push_e = qq * pull_q + qe * pull_e, qe * pull_q + ee * pull_e
            without = (out > 0) / self.firm[reading].astype(np.float64)
            step = without * self.gap[reading]
            q, e = q - push_q * step, e - push_e * step
            qq, ee = qq + push_q**2 * without, ee + push_e**2 * without
            qe = qe + push_q * push_e * without
        return np.stack([q + self.stack.q_mean[batch], e], axis=-1), np.stack([qq, ee, qe], axis=-1)

    @property
    def wrong(self) -> Floats:
        """Chance [B, K] of each reading to be the wrong one."""
        readings = self.stack.y.shape[1]
        chance = self.weight.sum(axis=2).reshape(len(self.weight), -1, readings + 1)
        result: Floats = chance.sum(axis=1)[:, 1:]
        return result

    @property
    def precision(self) -> Floats:
        """Precision [B, H, K, K] of the readings that count under each hypothesis."""
        readings = self.stack.y.shape[1]
        left_out = [self.whole]
        for k in range(readings):
            column, diagonal = self.whole[..., k], self.whole[..., k, k]
            piece = column[..., :, None] * column[..., None, :] / diagonal[..., None, None]
            rest = self.whole - piece
            rest[..., k, :] = rest[..., :, k] = 0.0
            left_out.append(rest)
        stacked: Floats = np.stack(left_out, axis=2)
        return stacked.reshape(len(stacked), self.weight.shape[1], readings, readings)


def _curves(stack: Stack, t: Floats) -> tuple[NDArray[Any], NDArray[Any]]:
    """R and the change of y by e [B, N, J] at elapsed days t [B, N], in the curves' precision."""
    real = stack.curves.dtype
    days = np.maximum(t, FIRST_MOMENT_DAYS)
    ln_d = stack.ln_d[:, : stack.ln_d.shape[1] // FAMILIES]
    ln_dt = (np.log(days) + LN_SECONDS)[:, :, None] + ln_d[:, None, :]
    place = ((ln_dt - LN_DT_FIRST) / LN_DT_STEP).astype(real)
    even, slope = look_up(stack.curves, (stack.rows * LN_DT_COUNT)[:, None, None], place)
    late = np.exp(ln_dt + stack.ln_late[:, None, None]).astype(real)
    skins = [skin_and_core(late, ratio) for ratio in ratios()]
    slope *= even_bend(days).astype(real)[:, :, None]
    share = np.concatenate([even, *(skin for skin, _ in skins)], axis=2)
    bend = np.concatenate([slope, *(change for _, change in skins)], axis=2)
    bend *= (1.0 - stack.q_mean).astype(real)[:, None, None]
    return share, bend


def curve_at(stack: Stack, t: Floats) -> tuple[Floats, Floats]:
    """R and the dependence on (q, e) at elapsed days t.

    Args:
        stack: B batches.
        t: [B, N] days.

    Returns:
        [B, N, J] and [B, N, J, 2].
    """
    share, bend = _curves(stack, t)
    return share, np.stack([1.0 - share, bend], axis=-1)


def wander(stack: Stack, t: Floats, u: Floats, weather: Floats) -> Floats:
    """Covariance [B, L, N, M] of weather and start error between days t [B, N] and u [B, M].

    Args:
        stack: B batches.
        t: [B, N] elapsed days.
        u: [B, M] elapsed days.
        weather: [L] standard deviations of the wander.
    """
    lasting = table("room")["weather_days"]
    a, b = t[:, :, None], u[:, None, :]
    shape = np.exp(-np.abs(a - b) / lasting) - np.exp(-(a + b) / lasting)
    shared = (stack.start_noise**2)[:, None, None, None]
    covariance: Floats = weather[:, None, None] ** 2 * shape[:, None] + shared
    return covariance


def learn(stack: Stack) -> Posterior:
    """The posterior of each batch of a stack."""
    real = stack.curves.dtype
    share, bend = _curves(stack, stack.t)
    whole, ln_scale, weather = _precisions(stack)
    lost = 1.0 - share
    residual = stack.y[:, :, None].astype(real) - share
    residual -= lost * stack.q_mean[:, None, None].astype(real)
    # The readings, plain and seen through their precision: residual, lever of q, lever of e.
    x = np.stack([residual, lost, bend], axis=1)[:, None]
    precision = whole.astype(real)
    wx = precision[:, :, None] @ x
    ln_weight, mean, cov = _sound(x, wx, stack.q_sd[:, None, None].astype(real))
    ln_weight += ln_scale[..., None].astype(real)
    ln_weight += stack.ln_prior[:, None].astype(real)
    gap, firm = _gaps(wx, mean, cov, np.einsum("blkk->blk", precision))
    return Posterior(
        stack=stack, weight=_weights(ln_weight, gap, firm), mean=mean, cov=cov,
        pull=wx[:, :, 1:].transpose(2, 0, 1, 3, 4), gap=gap, firm=firm, whole=whole,
        weather=weather,
    )  # fmt: skip


def _sound(
    x: NDArray[Any], wx: NDArray[Any], q_sd: NDArray[Any]
) -> tuple[NDArray[Any], NDArray[Any], NDArray[Any]]:
    """Log evidence [B, L, J], mean [2, B, L, J] and cov [3, B, L, J] with all readings sound."""
    pairs = ((0, 0), (0, 1), (0, 2), (1, 1), (1, 2), (2, 2))
    rr, rq, re, qq, qe, ee = (
        (x[:, :, left] * wx[:, :, right]).sum(axis=2) for left, right in pairs
    )
    qq += q_sd**-2
    ee += 1
    determinant = qq * ee
    determinant -= qe * qe
    cov = np.stack([ee, qq, -qe])
    cov /= determinant
    mean = np.stack([cov[0] * rq + cov[2] * re, cov[2] * rq + cov[1] * re])
    evidence = mean[0] * rq
    evidence += mean[1] * re
    evidence -= rr
    evidence -= np.log(determinant)
    evidence /= 2
    return evidence, mean, cov


def _gaps(
    wx: NDArray[Any], mean: NDArray[Any], cov: NDArray[Any], own: NDArray[Any]
) -> tuple[NDArray[Any], NDArray[Any]]:
    """Gap and firm of Posterior, each [B, L, K, J]; own [B, L, K] is the precision's diagonal.

    With P the precision, A the levers and S the covariance of (q, e), that of the readings on all
    grounds is P - P A S A' P: its diagonal is firm, and it times the residuals is gap.
    """
    residual, q, e = (wx[:, :, i] for i in range(3))
    gap = residual - q * mean[0][:, :, None]
    gap -= e * mean[1][:, :, None]
    firm = e * cov[2][:, :, None]
    firm *= -2
    firm -= q * cov[0][:, :, None]
    firm *= q
    square = e * e
    square *= cov[1][:, :, None]
    firm -= square
    firm += own[..., None]
    return gap, np.maximum(firm, own[..., None] * firm.dtype.type(LEAST_FIRM), out=firm)


def _weights(ln_sound: NDArray[Any], gap: NDArray[Any], firm: NDArray[Any]) -> NDArray[Any]:
    """Weights [B, H, J] from the log weights of sound readings [B, L, J]."""
    row = table("weighing")
    chance, spread = row["odd_reading_chance"], row["odd_reading_spread_percent"] / 100.0
    # The wrong reading itself may fall anywhere within the spread.
    ln_wrong = math.log(chance / (1.0 - chance)) - math.log(spread) + 0.5 * math.log(2.0 * math.pi)
    weight = np.empty((*gap.shape[:2], gap.shape[2] + 1, gap.shape[3]), dtype=gap.dtype)
    weight[:, :, 0] = ln_sound
    # If a reading is wrong, the evidence loses its density given the others.
    wrong = gap * gap
    wrong /= firm
    wrong -= np.log(firm)
    wrong /= 2
    wrong += gap.dtype.type(ln_wrong)
    np.add(wrong, ln_sound[:, :, None], out=weight[:, :, 1:])
    weight = weight.reshape(len(weight), -1, weight.shape[3])
    weight -= weight.max(axis=(1, 2), keepdims=True)
    np.exp(weight, out=weight)
    weight /= weight.sum(axis=(1, 2), keepdims=True)
    return weight


def _precisions(stack: Stack) -> tuple[Floats, Floats, Floats]:
    """Precision [B, L, K, K] of the readings, its log scale [B, L], and the L weathers."""
    room = table("room")
    levels = np.array([room["calm_sd_percent"], room["weather_sd_percent"]]) / 100.0
    step = np.arange(stack.y.shape[1])
    covariance = wander(stack, stack.t, stack.t, levels)
    covariance[:, :, step, step] += stack.noise[:, None] ** 2
    whole, ln_determinant = invert(covariance)
    return whole, -0.5 * ln_determinant, levels
