"""Two vessels that cool: their rates, and when both stand as wanted."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.optimize import curve_fit

from soapstock.chemistry.cooling import Reading, Vessel, meeting, vessel


def cooled(rate: float, minutes: list[float], first_c: float = 90.0) -> list[Reading]:
    """Readings of a vessel that cools exactly."""
    return [Reading(minute=m, c=20 + (first_c - 20) * math.exp(-rate * m)) for m in minutes]


def found(*args: object) -> Vessel:
    """A vessel that is known."""
    made = vessel(*args)  # type: ignore[arg-type]
    assert made is not None
    return made


def test_the_rate_is_that_of_an_independent_fit() -> None:
    """Noisy readings against scipy's curve_fit of Newton's law itself (scipy 1.x, reference)."""
    noise = np.random.default_rng(3)
    minutes = [0.0, 7.0, 15.0, 24.0, 40.0]
    readings = [
        Reading(minute=r.minute, c=r.c + noise.normal(0, 0.5)) for r in cooled(0.025, minutes)
    ]
    (_, rate), covariance = curve_fit(
        lambda t, above, k: 20 + above * np.exp(-k * t),
        minutes,
        [r.c for r in readings],
        p0=(60, 0.02),
        sigma=np.ones(5),
        absolute_sigma=True,
    )
    made = found(readings, 20.0)
    assert made.rate == pytest.approx(rate, rel=0.01)
    assert math.sqrt(made.rate_var) == pytest.approx(math.sqrt(covariance[1][1]), rel=0.1)


def test_a_textbooks_cup_of_coffee() -> None:
    """95 C in a room of 20 C, 70 C after 6 minutes: 50 C after 13.5 minutes.

    Newton's law solved by hand: k = ln(75/50)/6 a minute, and ln(75/30)/k minutes (COMPUTED).
    """
    cup = found([Reading(minute=0, c=95), Reading(minute=6, c=70)], 20.0)
    minutes = math.log(75 / 30) / (math.log(75 / 50) / 6)
    assert minutes == pytest.approx(13.56, abs=0.01)
    assert cup.expected_c(minutes) == pytest.approx(50)


def test_one_reading_tells_nothing_unless_the_shop_knows_the_rate() -> None:
    """And a vessel as cool as the room tells nothing at all."""
    one = [Reading(minute=0, c=80)]
    assert vessel(one, 20.0) is None
    assert found(one, 20.0, (0.02, 0.006)).expected_c(30) == pytest.approx(20 + 60 * math.exp(-0.6))
    assert vessel([Reading(minute=0, c=20.5)], 20.0, (0.02, 0.006)) is None
    assert vessel([Reading(minute=0, c=50), Reading(minute=5, c=60)], 20.0) is None


def test_both_meet_when_the_slower_is_there_and_the_chance_is_counted_right() -> None:
    """The chance told is the share of simulated pots that stand so at that minute."""
    minutes = [0.0, 10.0, 20.0]
    lye, fats = found(cooled(0.03, minutes), 20.0), found(cooled(0.012, minutes, 60.0), 20.0)
    met = meeting(lye, fats, (37, 43), (37, 43), now=20.0)
    assert met is not None
    assert 40 < met.minute < 60
    draw = np.random.default_rng(4)
    hits = np.ones(20_000, dtype=bool)
    for one in (lye, fats):
        spread = [[one.height_var, one.both_var], [one.both_var, one.rate_var]]
        height, rate = draw.multivariate_normal([one.height, one.rate], spread, 20_000).T
        stands = 20 + np.exp(height - rate * met.minute)
        hits &= (stands >= 37) & (stands <= 43)
    assert met.chance == pytest.approx(hits.mean(), abs=0.02)


def test_vessels_that_miss_each_other_are_told() -> None:
    """The lye is cold before the fats are cool enough: there is no such minute."""
    minutes = [0.0, 10.0, 20.0]
    lye, fats = found(cooled(0.1, minutes), 20.0), found(cooled(0.004, minutes), 20.0)
    assert meeting(lye, fats, (37, 43), (37, 43), now=20.0) is None
