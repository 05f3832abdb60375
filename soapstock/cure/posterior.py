"""What the weigh-ins teach: the posterior of drying rate, end mass and curve shape, many at once.

Mass of a bar as a share of its start mass, at elapsed days t since drying began:

    y(t) = R + (1 - R) q + (1 - qbar) e ln(t / 14 d) R' + w(t)

R(ln D t) is Fick's remaining share, R' its slope by ln(D t); q the end mass (from the end moisture,
q = (1 - w0) / (1 - me), w0 the start water); e says how much steeper or flatter in ln t this
batch's curve is than Fick's (skins, uneven rooms and two-speed drying do that); qbar the prior mean
of q; w(t) a wander with the weather (an Ornstein-Uhlenbeck walk that is zero at the start) plus the
one error of the start mass, which all later masses share.

Only ln D is not linear. So ln D runs over a grid; for each value q and e are Gaussian in closed
form, given the readings; and the weight of each grid value is its prior times the likelihood of the
readings. The same is done for calm and for changing weather, and, to be robust, with each reading
left out in turn as if that one were wrong, at a prior chance of 3 % each; at most one reading is
taken to be wrong. All answers are mixtures of Gaussians over [hypothesis, grid value]. Everything
carries a leading batch axis [B].

Source: ordinary conjugate Gaussian algebra; the model is ours, its figures stand in
tables/cure/drying.toml. Calibration: tests/bench/cure_calibration.py.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from soapstock.cure.drying import LN_DT_COUNT, LN_DT_FIRST, LN_DT_STEP, SECONDS_PER_DAY, look_up
from soapstock.cure.prior import table

Floats = NDArray[np.float64]

GRID_HALF_WIDTH = 1.8  # in ln D: from a sixth to six times the prior's D
GRID_STEP = 0.15
CELL_VARIANCE = 12.0  # an even spread over a cell has a twelfth of its square
TURN_DAYS = 14.0  # where steeper and flatter curves cross
LN_SECONDS = math.log(SECONDS_PER_DAY)
FIRST_MOMENT_DAYS = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class Stack:
    """Batches with the same number of readings, ready for the arithmetic. B batches, K readings.

    Attributes:
        curves: [S * grid] tables of R by ln(D t), one after another, see drying.curve_table.
        rows: [B] which curve each batch follows.
        t: [B, K] elapsed days of the readings, since drying began.
        y: [B, K] readings as shares of the start mass.
        noise: [B, K] standard deviation of each.
        start_noise: [B] standard deviation of the start mass, as a share.
        ln_d: [B, J] grid of ln D.
        ln_prior: [B, J] log prior weight of each.
        q_mean: [B] prior mean of the end mass as a share of the start mass.
        q_sd: [B] its standard deviation.
    """

    curves: Floats
    rows: NDArray[np.intp]
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
    """Mixture of Gaussians over H hypotheses and J rates.

    The hypotheses are, for each level of weather in turn: all readings sound, then each wrong.

    Attributes:
        stack: what it was made from.
        weight: [B, H, J], adds to 1 over H and J.
        information: five [B, H, J]: the precisions of q and of e, their cross term, and the pull
            of prior and readings on each.
        precision: [B, H, K, K] of the readings about the curve, weather and start error included.
        weather: [H] standard deviation of the weather's wander, as a share of the start mass.
    """

    stack: Stack
    weight: Floats
    information: tuple[Floats, Floats, Floats, Floats, Floats]
    precision: Floats
    weather: Floats

    def moments(self, place: tuple[NDArray[np.intp], ...] | None = None) -> tuple[Floats, Floats]:
        """Mean of (q, e) [..., 2], and variances of q and e and their covariance [..., 3].

        Args:
            place: indices into [B, H, J] to take; None takes all.
        """
        qq, ee, qe, rq, re = (part if place is None else part[place] for part in self.information)
        determinant = qq * ee - qe * qe
        mean = np.stack([ee * rq - qe * re, qq * re - qe * rq], axis=-1) / determinant[..., None]
        return mean, np.stack([ee, qq, -qe], axis=-1) / determinant[..., None]

    @property
    def wrong(self) -> Floats:
        """Chance [B, K] of each reading to be the wrong one."""
        readings = self.stack.y.shape[1]
        chance = self.weight.sum(axis=2).reshape(len(self.weight), -1, readings + 1)
        result: Floats = chance.sum(axis=1)[:, 1:]
        return result


def curve_at(stack: Stack, t: Floats) -> tuple[Floats, Floats]:
    """R and the dependence on (q, e) at elapsed days t.

    Args:
        stack: B batches.
        t: [B, N] days.

    Returns:
        [B, N, J] and [B, N, J, 2].
    """
    days = np.maximum(t, FIRST_MOMENT_DAYS)
    origin = (stack.ln_d + (LN_SECONDS - LN_DT_FIRST)) / LN_DT_STEP
    place = (np.log(days) / LN_DT_STEP)[:, :, None] + origin[:, None, :]
    share, slope = look_up(stack.curves, (stack.rows * LN_DT_COUNT)[:, None, None], place)
    bend = (1.0 - stack.q_mean)[:, None] * np.log(days / TURN_DAYS)
    levers = np.stack([1.0 - share, slope * bend[:, :, None]], axis=-1)
    return share, levers


def wander(stack: Stack, t: Floats, u: Floats, weather: Floats) -> Floats:
    """Covariance [B, H, N, M] of weather and start error between days t [B, N] and u [B, M].

    Args:
        stack: B batches.
        t: [B, N] elapsed days.
        u: [B, M] elapsed days.
        weather: [H] standard deviations of the wander.
    """
    lasting = table("room")["weather_days"]
    a, b = t[:, :, None], u[:, None, :]
    shape = np.exp(-np.abs(a - b) / lasting) - np.exp(-(a + b) / lasting)
    shared = (stack.start_noise**2)[:, None, None, None]
    covariance: Floats = weather[:, None, None] ** 2 * shape[:, None] + shared
    return covariance


def learn(stack: Stack) -> Posterior:
    """The posterior of each batch of a stack."""
    share, levers = curve_at(stack, stack.t)
    precision, ln_scale, weather = _precisions(stack)
    # Inner products of residual, lever of q and lever of e under each hypothesis' precision.
    x = np.stack([stack.y[:, :, None] - share, levers[..., 0], levers[..., 1]], axis=2)
    rr, rq, re, qq, qe, ee = _products(x, precision, stack.y.shape[1])
    tau_q, tau_e = stack.q_sd[:, None, None] ** -2, table("prior")["curve_exponent_sd"] ** -2
    q_mean = stack.q_mean[:, None, None]
    qq += tau_q
    ee += tau_e
    rq += tau_q * q_mean
    determinant = qq * ee - qe**2
    fit = rr - (ee * rq * rq - 2.0 * qe * rq * re + qq * re * re) / determinant
    ln_weight = ln_scale[:, :, None] - 0.5 * (fit + np.log(determinant)) + stack.ln_prior[:, None]
    weight = np.exp(ln_weight - ln_weight.max(axis=(1, 2), keepdims=True))
    weight /= weight.sum(axis=(1, 2), keepdims=True)
    return Posterior(
        stack=stack, weight=weight, information=(qq, ee, qe, rq, re),
        precision=precision, weather=weather,
    )  # fmt: skip


def _products(x: Floats, precision: Floats, readings: int) -> list[Floats]:
    """Products [B, H, J] of the three columns of x [B, K, 3, J], pair by pair.

    Leaving a reading out of a Gaussian takes a rank-one piece off its precision, so the products
    of the left-out hypotheses come from those of the whole by one subtraction each.
    """
    batches, _, _, rates = x.shape
    levels = precision.shape[1] // (readings + 1)
    pairs = ((0, 0), (0, 1), (0, 2), (1, 1), (1, 2), (2, 2))
    found = [np.empty((batches, levels * (readings + 1), rates)) for _ in pairs]
    for level in range(levels):
        first = level * (readings + 1)
        whole = precision[:, first]
        wx = (whole @ x.reshape(batches, readings, 3 * rates)).reshape(x.shape)
        diagonal = np.einsum("bkk->bk", whole)[:, :, None]
        for out, (left, right) in zip(found, pairs, strict=True):
            product = (x[:, :, left] * wx[:, :, right]).sum(axis=1)
            out[:, first] = product
            piece = wx[:, :, left] * wx[:, :, right] / diagonal
            out[:, first + 1 : first + 1 + readings] = product[:, None] - piece
    return found


def _precisions(stack: Stack) -> tuple[Floats, Floats, Floats]:
    """Precision [B, H, K, K], log scale [B, H] and weather [H] of each hypothesis."""
    readings = stack.y.shape[1]
    room, row = table("room"), table("weighing")
    levels = np.array([room["calm_sd_percent"], room["weather_sd_percent"]]) / 100.0
    step = np.arange(readings)
    covariance = wander(stack, stack.t, stack.t, levels)
    covariance[:, :, step, step] += stack.noise[:, None] ** 2
    whole = np.linalg.inv(covariance)
    ln_whole = -0.5 * np.linalg.slogdet(covariance)[1]
    chance, spread = row["odd_reading_chance"], row["odd_reading_spread_percent"] / 100.0
    # The wrong reading itself may fall anywhere within the spread.
    ln_wrong = math.log(chance / (1.0 - chance)) - math.log(spread) + 0.5 * math.log(2.0 * math.pi)
    precision = np.repeat(whole[:, :, None], readings + 1, axis=2)
    ln_scale = np.repeat(ln_whole[:, :, None], readings + 1, axis=2)
    for k in step:
        column, diagonal = whole[..., k], whole[..., k, k]
        piece = column[..., :, None] * column[..., None, :] / diagonal[..., None, None]
        precision[:, :, k + 1] -= piece
        precision[:, :, k + 1, k, :] = precision[:, :, k + 1, :, k] = 0.0
        ln_scale[:, :, k + 1] += -0.5 * np.log(diagonal) + ln_wrong
    batches = len(stack.rows)
    return (
        precision.reshape(batches, len(levels) * (readings + 1), readings, readings),
        ln_scale.reshape(batches, -1),
        np.repeat(levels, readings + 1),
    )


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
    cross = wander(stack, t, stack.t, posterior.weather)
    pull = cross @ posterior.precision
    own = np.einsum("bhnn->bhn", wander(stack, t, t, posterior.weather))
    known = (pull * cross).sum(axis=-1)
    lever = levers[:, None] - np.einsum("bhnk,bkjp->bhnjp", pull, seen_levers)
    residual = stack.y[:, :, None] - seen_share
    mean = share[:, None] + np.einsum("bhnk,bkj->bhnj", pull, residual)
    centre, cov = posterior.moments()
    mean = mean + np.einsum("bhnjp,bhjp->bhnj", lever, centre)
    variance = _spread(lever, cov) + within_cell(np.gradient(mean, axis=-1))
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
    return mean, _spread(lever, cov) + within_cell(np.gradient(mean, axis=-1))


def within_cell(step: Floats) -> Floats:
    """Variance of a value within a cell of the grid of ln D, by its change from cell to cell.

    Each grid value stands for its whole cell, evenly; without this sharp readings would leave a
    mixture of separate spikes.
    """
    variance: Floats = step * step / CELL_VARIANCE
    return variance


def _spread(lever: Floats, cov: Floats) -> Floats:
    """Variance of lever . (q, e): lever [B, H, N, J, 2] or broadcast, cov [B, H, J, 3]."""
    q, e = lever[..., 0], lever[..., 1]
    parts = cov[:, :, None]
    variance: Floats = q * q * parts[..., 0] + e * e * parts[..., 1] + 2.0 * q * e * parts[..., 2]
    return variance
