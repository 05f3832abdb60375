"""The clocks at the pot: how lye and fats cool, and when both stand as the recipe wants them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from soapstock.chemistry.cooling import RATE_SHARE, Meeting, Reading, Vessel, meeting, vessel
from soapstock.desk.desk import Desk
from soapstock.recipes.recipe import Recipe
from soapstock.views.lye import USUAL_POUR_C, cooling_of

USUAL_ROOM_C = 20.0
WITHIN_C = 3.0  # either side of what is wanted (common practice, no source)


@dataclass(frozen=True, slots=True, kw_only=True)
class Clock:
    """One vessel: the last reading, and what is wanted of it, C."""

    last: Reading | None
    wanted_c: float
    cooling: Vessel | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Clocks:
    """Both vessels, and when they meet; `learnt` pours told the lye's rate beforehand."""

    lye: Clock
    fats: Clock
    learnt: int
    meeting: Meeting | None


def clocks(
    desk: Desk,
    recipe: Recipe,
    lye: Sequence[Reading],
    fats: Sequence[Reading],
    room_c: float,
    now: float,
) -> Clocks:
    """What readings of this pot, and the shop's own pours, tell.

    Args:
        lye, fats: readings on one clock of minutes.
        now: the minute it is on that clock.
    """
    learnt = cooling_of(desk)
    usual = (learnt[0], RATE_SHARE * learnt[0]) if learnt else None
    of_lye = _clock(lye, recipe.lye_at_c, vessel(lye, room_c, usual))
    of_fats = _clock(fats, recipe.fats_at_c, vessel(fats, room_c))
    found = None
    if of_lye.cooling is not None and of_fats.cooling is not None:
        found = meeting(of_lye.cooling, of_fats.cooling, _window(of_lye), _window(of_fats), now)
    return Clocks(lye=of_lye, fats=of_fats, learnt=learnt[1] if learnt else 0, meeting=found)


def _clock(readings: Sequence[Reading], wanted_c: float | None, cooling: Vessel | None) -> Clock:
    last = max(readings, key=lambda one: one.minute, default=None)
    wanted = wanted_c if wanted_c is not None else USUAL_POUR_C
    return Clock(last=last, wanted_c=wanted, cooling=cooling)


def _window(clock: Clock) -> tuple[float, float]:
    return clock.wanted_c - WITHIN_C, clock.wanted_c + WITHIN_C
