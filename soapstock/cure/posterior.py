"""What the weigh-ins teach: the posterior of drying rate, end mass and curve shape, many at once.

Mass of a bar as a share of its start mass, at elapsed days t since drying began:

    y(t) = R + (1 - R) q + (1 - qbar) (e R' + s R'') + w(t)

R(D t) is the share of the water to be lost still in the bar, of one of the families of
cure/curves.py; R' its change by e and R'' its change by s; q the end mass (from the end moisture,
q = (1 - w0) / (1 - me), w0 the start water); e and s standard normal numbers, how far this batch's
curve is bent within its family and how much of its water leaves as a slow rest; qbar the prior mean
of q; w(t) a wander with the weather (an Ornstein-Uhlenbeck walk that is zero at the start) plus the
one error of the start mass, which all later masses share.

Only the family and ln D are not linear. So they run over a grid of cells; for each cell q, e and s
are Gaussian in closed form, given the readings; and the weight of each cell is its prior times the
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

from soapstock.cure.curves import FAMILIES, SKINS, add_slow_rest, even_bend, skin_and_core
from soapstock.cure.drying import (
    LN_DT_COUNT,
    LN_DT_FIRST,
    LN_DT_STEP,
    SECONDS_PER_DAY,
    look_up,
)
from soapstock.cure.prior import table
from soapstock.cure.sweep import invert, invert_in_place

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
        mean: [P, B, L, J] means of the bends (q, e, s) with all readings sound.
        cov: [P, P, B, L, J] their covariance, likewise.
        pull: [P, B, L, K, J] how each reading pulls on each.
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
        """Mean [..., P] and covariance [..., P, P] of the bends (q, e, s).

        Without a reading they follow from those with it by one rank-one step (Sherman-Morrison).

        Args:
            place: indices into [B, H, J] to take; None takes all, [B, H, J, ...].
        """
        if place is None:
            place = tuple(np.ix_(*(np.arange(size) for size in self.weight.shape)))
        batch, hypothesis, cell = place
        level, out = np.divmod(hypothesis, self.stack.y.shape[1] + 1)
        mean = np.moveaxis(self.mean[:, batch, level, cell], 0, -1).astype(np.float64)
        cov = np.moveaxis(self.cov[:, :, batch, level, cell], (0, 1), (-2, -1)).astype(np.float64)
        if self.stack.y.shape[1]:
            reading = (batch, level, np.maximum(out - 1, 0), cell)
            pull = np.moveaxis(self.pull[:, *reading], 0, -1).astype(np.float64)
            push = (cov @ pull[..., None])[..., 0]
            without = (out > 0) / self.firm[reading].astype(np.float64)
            mean = mean - push * (without * self.gap[reading])[..., None]
            cov = cov + push[..., :, None] * push[..., None, :] * without[..., None, None]
        mean[..., 0] += self.stack.q_mean[batch]
        return mean, cov

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
    """R [B, N, J] and the levers [P, B, N, J] at elapsed days t [B, N], in the curves' precision.

    The levers are what q, e and s are multiplied by.
    """
    real = stack.curves.dtype
    days = np.maximum(t, FIRST_MOMENT_DAYS)
    ln_d = stack.ln_d[:, : stack.ln_d.shape[1] // FAMILIES]
    ln_dt = (np.log(days) + LN_SECONDS)[:, :, None] + ln_d[:, None, :]
    place = ((ln_dt - LN_DT_FIRST) / LN_DT_STEP).astype(real)
    even, slope = look_up(stack.curves, (stack.rows * LN_DT_COUNT)[:, None, None], place)
    late = np.exp((ln_dt + stack.ln_late[:, None, None]).astype(real))
    slope *= even_bend(days).astype(real)[:, :, None]
    shapes = [
        (even, slope),
        *(skin_and_core(late * s.late, s.ratio, s.share, s.share_sd) for s in SKINS),
    ]
    rests = [add_slow_rest(share, bend, late) for share, bend in shapes]
    share = np.concatenate([share for share, _ in shapes], axis=2)
    levers = np.stack(
        [
            1.0 - share,
            *(np.concatenate(part, axis=2) for part in ([bend for _, bend in shapes], rests)),
        ]
    )
    levers[1:] *= (1.0 - stack.q_mean).astype(real)[:, None, None]
    return share, levers


def curve_at(stack: Stack, t: Floats) -> tuple[Floats, Floats]:
    """R and the dependence on (q, e, s) at elapsed days t.

    Args:
        stack: B batches.
        t: [B, N] days.

    Returns:
        [B, N, J] and [B, N, J, P].
    """
    share, levers = _curves(stack, t)
    return share, np.moveaxis(levers, 0, -1)


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
    share, levers = _curves(stack, stack.t)
    whole, ln_scale, weather = _precisions(stack)
    residual = stack.y[:, :, None].astype(real) - share
    residual -= levers[0] * stack.q_mean[:, None, None].astype(real)
    # The readings, plain and seen through their precision: residual, then each lever.
    x = np.concatenate([residual[None], levers])[:, :, None]
    wx = whole.astype(real) @ x
    ln_weight, mean, cov = _sound(x, wx, stack.q_sd[:, None, None].astype(real))
    ln_weight += ln_scale[..., None].astype(real)
    ln_weight += stack.ln_prior[:, None].astype(real)
    gap, firm = _gaps(wx, mean, cov, np.einsum("blkk->blk", whole).astype(real))
    return Posterior(
        stack=stack,
        weight=_weights(ln_weight, gap, firm),
        mean=mean,
        cov=cov,
        pull=wx[1:],
        gap=gap,
        firm=firm,
        whole=whole,
        weather=weather,
    )


def _sound(
    x: NDArray[Any], wx: NDArray[Any], q_sd: NDArray[Any]
) -> tuple[NDArray[Any], NDArray[Any], NDArray[Any]]:
    """Log evidence [B, L, J], mean [P, B, L, J] and cov [P, P, B, L, J], all readings sound."""
    size = len(x)
    products = np.empty(
        (size, size, *np.broadcast_shapes(x.shape[1:3], wx.shape[1:3]), wx.shape[-1]),
        dtype=wx.dtype,
    )
    for i in range(size):
        for j in range(i, size):
            products[i, j] = products[j, i] = (x[i] * wx[j]).sum(axis=2)
    information, pull = products[1:, 1:], products[0, 1:]
    information[0, 0] += q_sd**-2
    for i in range(1, size - 1):
        information[i, i] += 1
    cov, ln_determinant = invert_in_place(information)
    mean = (cov * pull).sum(axis=1)
    evidence = (mean * pull).sum(axis=0)
    evidence -= products[0, 0]
    evidence -= ln_determinant
    evidence /= 2
    return evidence, mean, cov


def _gaps(
    wx: NDArray[Any], mean: NDArray[Any], cov: NDArray[Any], own: NDArray[Any]
) -> tuple[NDArray[Any], NDArray[Any]]:
    """Gap and firm of Posterior, each [B, L, K, J]; own [B, L, K] is the precision's diagonal.

    With P the precision, A the levers and S the covariance of the bends, that of the readings on
    all grounds is P - P A S A' P: its diagonal is firm, and it times the residuals is gap.
    """
    gap = wx[0].copy()
    firm = np.repeat(own[..., None], wx.shape[-1], axis=-1)
    for i, lever in enumerate(wx[1:]):
        gap -= lever * mean[i][:, :, None]
        push = lever * cov[i, i][:, :, None]
        for j in range(i):
            push += wx[1 + j] * (2 * cov[i, j])[:, :, None]
        push *= lever
        firm -= push
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
