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
readings. To be robust, the same is done with each reading left out in turn, as if that one were
wrong, at a prior chance of 3 % each; at most one reading is taken to be wrong. All answers are
mixtures of Gaussians over [hypothesis, grid value]. Everything carries a leading batch axis [B].

Source: ordinary conjugate Gaussian algebra; the model is ours, its figures stand in
tables/cure/drying.toml. Calibration: tests/bench/cure_calibration.py.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from soapstock.cure.drying import SECONDS_PER_DAY, look_up
from soapstock.cure.prior import table

Floats = NDArray[np.float64]

GRID_HALF_WIDTH = 2.0  # in ln D: from a seventh to seven times the prior's D
GRID_STEP = 0.1
TURN_DAYS = 14.0  # where steeper and flatter curves cross
LN_SECONDS = math.log(SECONDS_PER_DAY)
FIRST_MOMENT_DAYS = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class Stack:
    """Batches with the same number of readings, ready for the arithmetic. B batches, K readings.

    Attributes:
        curves: [S, grid] tables of R by ln(D t), see drying.curve_table.
        slopes: [S, grid] of R'.
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
    slopes: Floats
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
    """Mixture of Gaussians over H hypotheses (all sound, or one reading wrong) and J rates.

    Attributes:
        stack: what it was made from.
        weight: [B, H, J], adds to 1 over H and J.
        mean: [B, H, J, 2] of (q, e).
        cov: [B, H, J, 2, 2].
        precision: [B, H, K, K] of the readings about the curve, weather and start error included.
        gain: [B, H, K, J] precision times residual of the readings about R.
        lever: [B, H, K, J, 2] precision times the readings' dependence on (q, e).
    """

    stack: Stack
    weight: Floats
    mean: Floats
    cov: Floats
    precision: Floats
    gain: Floats
    lever: Floats


def curve_at(stack: Stack, t: Floats) -> tuple[Floats, Floats]:
    """R and the dependence on (q, e) at elapsed days t.

    Args:
        stack: B batches.
        t: [B, N] days.

    Returns:
        [B, N, J] and [B, N, J, 2].
    """
    days = np.maximum(t, FIRST_MOMENT_DAYS)
    ln_dt = np.log(days)[:, :, None] + LN_SECONDS + stack.ln_d[:, None, :]
    rows = stack.rows[:, None, None]
    share = look_up(stack.curves, rows, ln_dt)
    slope = look_up(stack.slopes, rows, ln_dt)
    bend = (1.0 - stack.q_mean)[:, None] * np.log(days / TURN_DAYS)
    levers = np.stack([1.0 - share, slope * bend[:, :, None]], axis=-1)
    return share, levers


def wander(stack: Stack, t: Floats, u: Floats) -> Floats:
    """Covariance [B, N, M] of weather and start error between days t [B, N] and u [B, M]."""
    room = table("room")
    spread, lasting = room["weather_sd_percent"] / 100.0, room["weather_days"]
    a, b = t[:, :, None], u[:, None, :]
    weather = spread**2 * (np.exp(-np.abs(a - b) / lasting) - np.exp(-(a + b) / lasting))
    covariance: Floats = weather + (stack.start_noise**2)[:, None, None]
    return covariance


def learn(stack: Stack) -> Posterior:
    """The posterior of each batch of a stack."""
    share, levers = curve_at(stack, stack.t)
    precision, ln_scale = _precisions(stack)
    residual = stack.y[:, :, None] - share
    gain = np.einsum("bhkl,blj->bhkj", precision, residual)
    lever = np.einsum("bhkl,bljp->bhkjp", precision, levers)
    prior_mean = np.stack([stack.q_mean, np.zeros_like(stack.q_mean)], axis=-1)
    bend_sd = table("prior")["curve_exponent_sd"]
    prior_tau = np.stack([stack.q_sd**-2, np.full_like(stack.q_sd, bend_sd**-2)], axis=-1)
    tau = np.einsum("bkjp,bhkjr->bhjpr", levers, lever)
    tau[..., 0, 0] += prior_tau[:, None, None, 0]
    tau[..., 1, 1] += prior_tau[:, None, None, 1]
    pull = np.einsum("bkjp,bhkj->bhjp", levers, gain)
    pull += (prior_tau * prior_mean)[:, None, None, :]
    determinant = tau[..., 0, 0] * tau[..., 1, 1] - tau[..., 0, 1] ** 2
    cov = np.empty_like(tau)
    cov[..., 0, 0], cov[..., 1, 1] = tau[..., 1, 1], tau[..., 0, 0]
    cov[..., 0, 1] = cov[..., 1, 0] = -tau[..., 0, 1]
    cov /= determinant[..., None, None]
    mean = np.einsum("bhjpr,bhjr->bhjp", cov, pull)
    fit = np.einsum("bkj,bhkj->bhj", residual, gain) - np.einsum("bhjp,bhjp->bhj", mean, pull)
    ln_weight = ln_scale[:, :, None] - 0.5 * (fit + np.log(determinant)) + stack.ln_prior[:, None]
    weight = np.exp(ln_weight - ln_weight.max(axis=(1, 2), keepdims=True))
    weight /= weight.sum(axis=(1, 2), keepdims=True)
    return Posterior(
        stack=stack, weight=weight, mean=mean, cov=cov,
        precision=precision, gain=gain, lever=lever,
    )  # fmt: skip


def _precisions(stack: Stack) -> tuple[Floats, Floats]:
    """Precision [B, H, K, K] and log scale [B, H] with all readings sound, then with one wrong."""
    readings = stack.y.shape[1]
    covariance = wander(stack, stack.t, stack.t)
    step = np.arange(readings)
    covariance[:, step, step] += stack.noise**2
    whole = np.linalg.inv(covariance)
    _, ln_det = np.linalg.slogdet(covariance)
    precision = np.repeat(whole[:, None], readings + 1, axis=1)
    ln_scale = np.repeat(-0.5 * ln_det[:, None], readings + 1, axis=1)
    row = table("weighing")
    chance, spread = row["odd_reading_chance"], row["odd_reading_spread_percent"] / 100.0
    # Leaving reading k out of a Gaussian takes row k off its precision; the wrong reading itself
    # may fall anywhere within the spread.
    ln_wrong = math.log(chance / (1.0 - chance)) - math.log(spread) + 0.5 * math.log(2.0 * math.pi)
    for k in step:
        column = whole[:, :, k]
        diagonal = whole[:, k, k]
        without = whole - column[:, :, None] * column[:, None, :] / diagonal[:, None, None]
        without[:, k, :] = without[:, :, k] = 0.0
        precision[:, k + 1] = without
        ln_scale[:, k + 1] += -0.5 * np.log(diagonal) + ln_wrong
    return precision, ln_scale


def masses(posterior: Posterior, t: Floats, combine: Floats | None = None) -> tuple[Floats, Floats]:
    """Mean and variance of masses, or of sums of masses, weather and start error included.

    Args:
        posterior: B batches.
        t: [B, N] elapsed days.
        combine: [M, N] weights that make M sums of the N masses; None for the masses themselves.

    Returns:
        mean [B, H, M, J] and variance [B, H, M, J], as shares of the start mass (and squared).
    """
    stack = posterior.stack
    share, levers = curve_at(stack, t)
    cross = wander(stack, t, stack.t)
    own = wander(stack, t, t)
    if combine is not None:
        share = np.einsum("mn,bnj->bmj", combine, share)
        levers = np.einsum("mn,bnjp->bmjp", combine, levers)
        cross = np.einsum("mn,bnk->bmk", combine, cross)
        own = np.einsum("mn,bnl,ml->bm", combine, own, combine)
    else:
        own = np.einsum("bnn->bn", own)
    lever = levers[:, None] - np.einsum("bmk,bhkjp->bhmjp", cross, posterior.lever)
    mean = share[:, None] + np.einsum("bmk,bhkj->bhmj", cross, posterior.gain)
    mean = mean + np.einsum("bhmjp,bhjp->bhmj", lever, posterior.mean)
    known = np.einsum("bmk,bhkl,bml->bhm", cross, posterior.precision, cross)
    variance = np.einsum("bhmjp,bhjpr,bhmjr->bhmj", lever, posterior.cov, lever)
    variance += np.maximum(own[:, None] - known, 0.0)[..., None]
    return mean, variance


def trends(posterior: Posterior, t: Floats, combine: Floats) -> tuple[Floats, Floats]:
    """As masses, but of the drying curve alone, without weather, readings' and start error."""
    share, levers = curve_at(posterior.stack, t)
    share = np.einsum("mn,bnj->bmj", combine, share)
    levers = np.einsum("mn,bnjp->bmjp", combine, levers)
    mean = share[:, None] + np.einsum("bmjp,bhjp->bhmj", levers, posterior.mean)
    variance = np.einsum("bmjp,bhjpr,bmjr->bhmj", levers, posterior.cov, levers)
    return mean, variance
