"""The five gates between a batch and its sale: cured, dry, tested, weight, released.

All are read from facts and today's date; nothing is stored. Time alone opens `cured` and `dry`;
people open the rest. Dry does not speak for safe, nor safe for dry: they are two gates (facts of
the trade; ISO 22716 asks that a named person releases).
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from functools import lru_cache
from typing import Literal

from soapstock.cure.many import HORIZON_DAYS
from soapstock.cure.model import Forecast
from soapstock.cure.prior import table
from soapstock.cure.words import Decision

State = Literal[
    "in mould",
    "curing",
    "failed",
    "awaiting test",
    "awaiting release",
    "ready",
    "on hold",
    "rejected",
    "gone",
]

DRY_CHANCE = 0.5  # with weigh-ins, the expected loss decides
DRY_CHANCE_UNWEIGHED = 0.95  # without any, it must be nearly sure
TOO_LIGHT_CHANCE = 0.5  # under it the promise is not expected to hold


@dataclass(frozen=True, slots=True, kw_only=True)
class GateFacts:
    """What the gates are read from.

    Attributes:
        poured_on: day of the pour.
        unmoulded_on: day of unmoulding, None while in the mould.
        today: the day asked about.
        cure_days: least days of cure the recipe asks for, from the pour.
        forecast: drying forecast, None when no mass is on record.
        dry_week_loss_percent: dry means that the coming week loses less than this.
        declared_g: weight the label promises a bar, None when the recipe states none.
        best_before: to that day the promise must hold, None takes the end of drying.
        free_alkali_passed: what the free-alkali tests come to, None when there is none on record.
        test_note: method and value of that test, for the reason.
        decision: latest decision of a person, None when there is none.
        decision_note: who and why.
        bars_left: bars of the batch not yet shipped, wasted or retained.
    """

    poured_on: date
    unmoulded_on: date | None
    today: date
    cure_days: int
    forecast: Forecast | None
    dry_week_loss_percent: float
    declared_g: Decimal | None
    best_before: date | None
    free_alkali_passed: bool | None
    test_note: str
    decision: Decision | None
    decision_note: str
    bars_left: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Gate:
    """One condition for ready, whether it is open, and why."""

    name: str
    open: bool
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadyBy:
    """When all gates that time opens are expected to be open: 5, 50 and 95 % dates."""

    early: date
    expected: date
    late: date


@dataclass(frozen=True, slots=True, kw_only=True)
class Readiness:
    """The answer: state, gates, date and what is still missing.

    Attributes:
        state: one of the nine words of a batch's state.
        gates: by name, in the order cured, dry, tested, weight, released.
        ready_by: None without a forecast.
        missing: what is still to come or to do, most pressing first.
        open_now: all five gates are open.
        too_light: the bars will more likely than not miss the declared weight, whatever is done.
    """

    state: State
    gates: Mapping[str, Gate]
    ready_by: ReadyBy | None
    missing: tuple[str, ...]
    open_now: bool
    too_light: bool


@lru_cache(maxsize=256)  # a page asks again and again on a day
def read_gates(facts: GateFacts) -> Readiness:
    """The state, gates and ready-by dates of a batch."""
    weight, too_light = _weight(facts)
    gates = (_cured(facts), _dry(facts), _tested(facts), weight, _released(facts))
    by_name = {gate.name: gate for gate in gates}
    open_now = all(gate.open for gate in gates) and facts.bars_left > 0
    return Readiness(
        state=_state(facts, by_name, open_now),
        gates=by_name,
        ready_by=_ready_by(facts, by_name),
        missing=tuple(gate.reason for gate in gates if not gate.open),
        open_now=open_now,
        too_light=too_light,
    )


def _cured(facts: GateFacts) -> Gate:
    age = (facts.today - facts.poured_on).days
    left = facts.cure_days - age
    if left <= 0:
        return Gate(name="cured", open=True, reason=f"day {age} of {facts.cure_days}")
    days = "1 day" if left == 1 else f"{left} days"
    return Gate(
        name="cured", open=False, reason=f"day {age} of {facts.cure_days}: {days} more to cure"
    )


def _dry(facts: GateFacts) -> Gate:
    if facts.unmoulded_on is None:
        return Gate(name="dry", open=False, reason="still in the mould: unmould it")
    if facts.forecast is None:
        return Gate(name="dry", open=False, reason="no mass on record: weigh a counted set")
    limit = facts.dry_week_loss_percent
    day = float((facts.today - facts.poured_on).days)
    loss = round(facts.forecast.week_loss_percent(day).nominal, 1) + 0.0  # no minus nought
    chance = facts.forecast.chance_dry(day, limit)
    said = f"next week's loss about {loss:.1f} %, limit {limit:g} %"
    if not facts.forecast.weigh_ins:
        if chance >= DRY_CHANCE_UNWEIGHED:
            return Gate(name="dry", open=True, reason=f"{said} (never weighed, but long enough)")
        return Gate(
            name="dry", open=False, reason=f"{said}; no weigh-in yet; one may open it sooner"
        )
    if chance >= DRY_CHANCE:
        return Gate(name="dry", open=True, reason=said)
    return Gate(name="dry", open=False, reason=f"still drying: {said}")


def _tested(facts: GateFacts) -> Gate:
    note = f" ({facts.test_note})" if facts.test_note else ""
    if facts.free_alkali_passed is None:
        return Gate(name="tested", open=False, reason="no free-alkali test on record: test it")
    if facts.free_alkali_passed:
        return Gate(name="tested", open=True, reason=f"free-alkali test passed{note}")
    return Gate(
        name="tested",
        open=False,
        reason=f"a test for free alkali FAILED{note}: do not sell; only a titration within the "
        "limit can clear it",
    )


def _weight(facts: GateFacts) -> tuple[Gate, bool]:
    """The gate, and whether the bars are too light for what they declare."""
    declared, forecast = facts.declared_g, facts.forecast
    if declared is None:
        return Gate(
            name="weight", open=True, reason="no declared weight, so none is promised"
        ), False
    if forecast is None:
        return Gate(
            name="weight", open=False, reason="no mass on record: weigh a counted set"
        ), False
    last = forecast.weigh_ins[-1] if forecast.weigh_ins else None
    if last is not None and last.per_bar_g < float(declared):
        return Gate(
            name="weight",
            open=False,
            reason=f"last weighed {last.per_bar_g:.1f} g a bar, under the declared "
            f"{float(declared):.4g} g: weigh again, or declare less",
        ), True
    until = "the end of drying" if facts.best_before is None else "best before"
    chances = _weight_chances(facts, forecast, declared)
    said = f"mean bar holds {float(declared):.4g} g to {until}: chance {_percent(chances[1])}"
    needed = table("promise")["model_chance"]
    if min(chances) >= needed:
        return Gate(name="weight", open=True, reason=said), False
    return Gate(
        name="weight",
        open=False,
        reason=f"{said}, {100 * needed:.3g} % needed: declare less or weigh again",
    ), last is not None and min(chances) < TOO_LIGHT_CHANCE


def _percent(chance: float) -> str:
    """A chance as percent, never rounded up to certainty."""
    return f"{min(math.floor(10 * (100 * chance)) / 10, 99.9):g} %"


def _weight_chances(facts: GateFacts, forecast: Forecast, declared_g: Decimal) -> list[float]:
    """Chance that the mean bar keeps the declared weight at pack, and to its best-before."""
    pack = max(float((facts.today - facts.poured_on).days), float(facts.cure_days))
    end = HORIZON_DAYS
    if facts.best_before is not None:
        end = float((facts.best_before - facts.poured_on).days)
    return [forecast.chance_mean_at_least(float(declared_g), day) for day in (pack, max(pack, end))]


def _released(facts: GateFacts) -> Gate:
    note = f" ({facts.decision_note})" if facts.decision_note else ""
    words = {
        "release": f"released{note}",
        "hold": f"on hold{note}",
        "reject": f"rejected{note}",
        None: f"nobody has released it yet{note}",
    }
    return Gate(name="released", open=facts.decision == "release", reason=words[facts.decision])


def _state(facts: GateFacts, gates: Mapping[str, Gate], open_now: bool) -> State:
    fixed: list[tuple[bool, State]] = [
        (facts.decision == "reject", "rejected"),
        (facts.unmoulded_on is not None and facts.bars_left <= 0, "gone"),
        (facts.decision == "hold", "on hold"),  # before the mould: a refused pour must show it
        (facts.free_alkali_passed is False, "failed"),  # holds it as well as a person does
        (facts.unmoulded_on is None, "in mould"),
        (open_now, "ready"),
        (not (gates["cured"].open and gates["dry"].open), "curing"),
        (not gates["tested"].open, "awaiting test"),
    ]
    return next((state for holds, state in fixed if holds), "awaiting release")


def _ready_by(facts: GateFacts, gates: Mapping[str, Gate]) -> ReadyBy | None:
    if facts.forecast is None:
        return None
    dry = facts.forecast.dry_day(facts.dry_week_loss_percent)
    days = [_date(facts, day) for day in (dry.early, dry.expected, dry.late)]
    if facts.unmoulded_on is not None and gates["cured"].open and gates["dry"].open:
        days = [min(day, facts.today) for day in days]
    else:
        days = [max(day, facts.today + timedelta(days=1)) for day in days]
    return ReadyBy(early=days[0], expected=days[1], late=days[2])


def _date(facts: GateFacts, dry_day: float) -> date:
    """The day on which both the cure days and the drying are done."""
    return facts.poured_on + timedelta(days=max(facts.cure_days, math.ceil(dry_day)))
