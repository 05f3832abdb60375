"""When lye and fats both stand where one wants them: each vessel cools in its own time.

Newton's law of cooling (a body without inner resistance; Incropera and DeWitt, Fundamentals of Heat
and Mass Transfer, section 5.1): what a vessel is hotter than the room falls by the same share each
minute. Its logarithm falls on a line, whose height and slope are found from readings by weighted
least squares, together with what is known of the slope beforehand; their errors are carried along.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import NormalDist

THERMOMETER_C = 1.0  # how far a kitchen thermometer is off, one standard deviation (our own)
RATE_SHARE = 0.3  # how far one pour's rate is off the mean of a shop's, as a share (our own)
MOST_MINUTES = 360
LEAST_CHANCE = 0.05


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """A temperature, C, read at a minute."""

    minute: float
    c: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Vessel:
    """How a vessel cools: the line of the logarithm of what it is hotter than the room.

    Attributes:
        room_c: what it cools towards.
        height, rate: of the line at minute 0 of the readings, and its fall each minute.
        height_var, rate_var, both_var: variances of the two, and their covariance.
    """

    room_c: float
    height: float
    rate: float
    height_var: float
    rate_var: float
    both_var: float

    def expected_c(self, minute: float) -> float:
        """The likeliest temperature."""
        return self.room_c + math.exp(self.height - self.rate * minute)

    def chance_within(self, minute: float, low_c: float, high_c: float) -> float:
        """The chance that it then stands between two temperatures."""
        spread = self.height_var + minute * minute * self.rate_var - 2 * minute * self.both_var
        line = NormalDist(self.height - self.rate * minute, math.sqrt(max(spread, 1e-9)))
        below_high = line.cdf(math.log(high_c - self.room_c)) if high_c > self.room_c else 0.0
        below_low = line.cdf(math.log(low_c - self.room_c)) if low_c > self.room_c else 0.0
        return below_high - below_low


@dataclass(frozen=True, slots=True, kw_only=True)
class Meeting:
    """The minute at which both most likely stand as wanted, and that chance."""

    minute: float
    chance: float
    lye_c: float
    fats_c: float


def vessel(
    readings: Sequence[Reading], room_c: float, rate: tuple[float, float] | None = None
) -> Vessel | None:
    """How a vessel cools.

    Args:
        readings: those not above the room say nothing.
        rate: mean and standard deviation of the rate beforehand, 1/min; None: nothing is known.

    Returns:
        None while nothing tells how fast it cools.
    """
    hot = [one for one in readings if one.c > room_c + THERMOMETER_C]
    if not hot or (rate is None and len({one.minute for one in hot}) < 2):  # noqa: PLR2004
        return None
    # normal equations of height and rate; a known rate counts as one more reading of it
    a11 = a12 = a22 = b1 = b2 = 0.0
    for one in hot:
        excess = one.c - room_c
        weight = (excess / THERMOMETER_C) ** 2
        a11 += weight
        a12 -= weight * one.minute
        a22 += weight * one.minute**2
        b1 += weight * math.log(excess)
        b2 -= weight * one.minute * math.log(excess)
    if rate is not None:
        a22 += 1 / rate[1] ** 2
        b2 += rate[0] / rate[1] ** 2
    whole = a11 * a22 - a12 * a12
    slope = (a11 * b2 - a12 * b1) / whole
    if slope <= 0:
        return None
    return Vessel(
        room_c=room_c,
        height=(a22 * b1 - a12 * b2) / whole,
        rate=slope,
        height_var=a22 / whole,
        rate_var=a11 / whole,
        both_var=-a12 / whole,
    )


def meeting(
    lye: Vessel, fats: Vessel, lye_c: tuple[float, float], fats_c: tuple[float, float], now: float
) -> Meeting | None:
    """The best minute from now on; None when both are never likely to stand as wanted.

    Args:
        lye_c, fats_c: the lowest and highest temperature wanted.
        now: the minute it is, on the readings' clock.
    """
    best = max(
        (
            (lye.chance_within(m, *lye_c) * fats.chance_within(m, *fats_c), -m)
            for m in (now + step for step in range(MOST_MINUTES))
        ),
    )
    chance, minute = best[0], -best[1]
    if chance < LEAST_CHANCE:
        return None
    return Meeting(
        minute=minute,
        chance=chance,
        lye_c=lye.expected_c(minute),
        fats_c=fats.expected_c(minute),
    )
