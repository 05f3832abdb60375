"""What a batch is today: composition, forecast, gates, best-before; curing and ready lists."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from soapstock.actions.desk import Desk, with_hyphens
from soapstock.actions.on_a_day import as_of, is_now
from soapstock.actions.poured import (
    Poured,
    as_poured,
    bars_in_hand,
    free_alkali,
    keeping_of,
    weigh_ins_of,
)
from soapstock.errors import NotFound
from soapstock.units import g_from_mg

if TYPE_CHECKING:
    from soapstock.chemistry.composition import Composition
    from soapstock.cure.gates import Readiness
    from soapstock.cure.model import BatchStart, Forecast
    from soapstock.errors import Problem
    from soapstock.ledger.facts import BatchFacts
    from soapstock.ledger.read.reader import Reader
    from soapstock.recipes.recipe import Recipe
    from soapstock.recipes.weighed import ActualMasses


@dataclass(frozen=True, slots=True, kw_only=True)
class BatchView:
    """One batch as it stands today; all of it computed from facts.

    Attributes:
        bars: good bars still on racks and shelves (planned count before unmoulding).
        start_g: mass of a bar at unmoulding, g (planned wet mass before).
        keeping_why: how the best-before came about.
    """

    facts: BatchFacts
    recipe: Recipe
    actual: ActualMasses
    composition: Composition
    start: BatchStart | None
    forecast: Forecast | None
    readiness: Readiness
    best_before: date | None
    keeping_why: str
    cure_days: int
    bars: int
    start_g: float | None
    today: date

    @property
    def day(self) -> int:
        """Whole days since the pour."""
        return (self.today - self.facts.poured_on).days

    @property
    def last_weight_g(self) -> float | None:
        """The latest weighed mass of a bar, or its mass at unmoulding."""
        if self.facts.weigh_ins:
            last = self.facts.weigh_ins[-1]
            return last.mass_mg / 1000 / last.bars
        return self.start_g

    @property
    def judgement(self) -> dict[str, Any]:
        """How the pour was judged: verdict, reasons, superfat; empty when none was kept."""
        text = self.facts.pour.judgement_json
        found = json.loads(text) if text else {}
        return found if isinstance(found, dict) else {}

    @property
    def judged(self) -> str:
        """The verdict on the pour: safe, check or refuse."""
        return str(self.judgement.get("verdict", ""))

    @property
    def alarms(self) -> tuple[Problem, ...]:
        """Findings of the cure model: damp, odd readings."""
        return self.forecast.alarms if self.forecast is not None else ()


def assess_all(
    desk: Desk, reader: Reader, batches: Sequence[BatchFacts], *, now: bool, in_stock: bool = False
) -> list[BatchView]:
    """Everything today's date and the facts say of batches, all forecast at once.

    The prior of each forecast is what the shop's finished batches taught that were poured before
    it: a later batch does not make an earlier one look odd. When the desk's day is not `now` but
    an earlier one, what was entered for later days is left out. With `in_stock` only batches that
    then had bars in hand or in the mould are forecast.
    """
    from soapstock.actions.kin import kind_of, recent_kin
    from soapstock.actions.room import room_log
    from soapstock.codes.lot import split
    from soapstock.cure.model import forecasts

    if not now:
        batches = as_of(reader, batches, desk.today)
    if in_stock:
        batches = [facts for facts in batches if facts.unmould is None or bars_in_hand(facts) > 0]
    poured = [as_poured(desk, facts) for facts in batches]
    log = room_log(desk)
    kin = recent_kin(desk, reader, log, now=now)
    poured_on = {b.lot: split(b.lot).day for b in kin.batches}
    jobs = []
    for p in poured:
        if p.start is None:
            continue
        earlier = {lot for lot, day in poured_on.items() if day < p.facts.poured_on}
        prior = kin.prior(kind_of(p.facts, log), without=p.facts.lot_code, among=earlier)
        jobs.append((p.start, weigh_ins_of(p.facts), prior))
    outlooks = iter(forecasts(jobs) if jobs else [])
    return [assess(desk, p, next(outlooks) if p.start is not None else None) for p in poured]


def assess(desk: Desk, poured: Poured, outlook: Forecast | None) -> BatchView:
    """Everything today's date, the facts and the forecast say of a batch."""
    from soapstock.cure.gates import GateFacts, read_gates

    facts, recipe, start = poured.facts, poured.recipe, poured.start
    until, why = keeping_of(desk, poured)
    passed, note = free_alkali(facts)
    decision = facts.decisions[-1] if facts.decisions else None
    in_hand = bars_in_hand(facts)
    readiness = read_gates(
        GateFacts(
            poured_on=facts.poured_on,
            unmoulded_on=facts.unmould.on if facts.unmould else None,
            today=desk.today,
            cure_days=recipe.cure_days or desk.shop.default_cure_days,
            forecast=outlook,
            dry_week_loss_percent=desk.shop.dry_week_loss_percent,
            declared_g=recipe.declared_weight_g,
            best_before=until,
            free_alkali_passed=passed,
            test_note=note,
            decision=decision.decision if decision else None,
            decision_note=f"{decision.by}: {decision.reason}" if decision else "",
            bars_left=in_hand if facts.unmould else 1,
        )
    )
    return BatchView(
        facts=facts,
        recipe=recipe,
        actual=poured.actual,
        composition=poured.composition,
        start=start,
        forecast=outlook,
        readiness=readiness,
        best_before=until,
        keeping_why=with_hyphens(why),
        cure_days=recipe.cure_days or desk.shop.default_cure_days,
        bars=in_hand,
        start_g=start.mass_per_bar_g if start and facts.unmould else None,
        today=desk.today,
    )


def views(desk: Desk, *, in_stock: bool = False) -> list[BatchView]:
    """All batches as they stand today, or only those with bars in hand or in the mould."""
    with desk.ledger.read() as reader:
        now = is_now(desk, reader)
        # Looking back, a batch that has since gone may have been in stock.
        batches = reader.batches(in_stock=in_stock and now)
        return assess_all(desk, reader, batches, now=now, in_stock=in_stock)


def view(desk: Desk, code: str) -> BatchView:
    """One batch as it stands today."""
    with desk.ledger.read() as reader:
        facts = reader.batch(code)
        found = assess_all(desk, reader, [facts], now=is_now(desk, reader))
    if not found:
        raise NotFound(
            f"{with_hyphens(code)} was not poured before {facts.poured_on.isoformat()}",
            hint="the desk's day (--today, --on) lies before the pour",
        )
    return found[0]


def record(item: BatchView) -> dict[str, Any]:
    """The stable JSON record of a batch in the curing and ready lists."""
    from soapstock.codes.lot import format_code

    ready = item.readiness.ready_by
    final = item.forecast.final_mass() if item.forecast else None
    return {
        "lot": format_code(item.facts.lot_code),
        "recipe": item.recipe.name,
        "state": item.readiness.state,
        "bars": item.bars,
        "ready_by": (
            {"early": ready.early, "expected": ready.expected, "late": ready.late}
            if ready
            else None
        ),
        "gates": {name: gate.open for name, gate in item.readiness.gates.items()},
        "best_before": item.best_before,
        "day": item.day,
        "cure_days": item.cure_days,
        "start_g": _tenth(item.start_g),
        "weight_g": _tenth(item.last_weight_g),
        "final_g": _span(final),
        "reasons": {name: gate.reason for name, gate in item.readiness.gates.items()},
        "missing": list(item.readiness.missing),
        "marks": [problem.message for problem in item.alarms],
        "places": dict(item.facts.places),
    }


def _tenth(value: float | None) -> float | None:
    return round(value, 1) if value is not None else None


def _span(interval: Any) -> dict[str, float] | None:
    if interval is None:
        return None
    return {
        "low": round(interval.low, 1),
        "expected": round(interval.nominal, 1),
        "high": round(interval.high, 1),
    }


_STILL = {"dry": "drying", "tested": "test", "weight": "weight", "released": "release"}


def still_needs(item: BatchView) -> list[str]:
    """What a batch still needs, in one or two words a gate, such as `6 d cure`, `test`."""
    if item.readiness.state == "in mould":
        return ["unmould"]
    words = []
    for name, gate in item.readiness.gates.items():
        if gate.open:
            continue
        left = item.cure_days - item.day
        words.append(f"{left} d cure" if name == "cured" else _STILL[name])
    return words


WAITING = ("in mould", "curing", "awaiting test", "awaiting release", "on hold")
_URGENCY = {"on hold": 0, "awaiting release": 1, "awaiting test": 1, "in mould": 2, "curing": 2}


def curing(desk: Desk) -> list[BatchView]:
    """Batches that are not yet ready: held ones first, then by the expected ready date."""
    waiting = [item for item in views(desk, in_stock=True) if item.readiness.state in WAITING]

    def urgency(item: BatchView) -> tuple[int, date, str]:
        ready = item.readiness.ready_by
        return (
            _URGENCY[item.readiness.state],
            ready.expected if ready else date.max,
            item.facts.lot_code,
        )

    return sorted(waiting, key=urgency)


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadyLine:
    """One lot of the ready list: ready now, or expected by the day asked for."""

    item: BatchView
    now: bool


def ready(desk: Desk, by: date | None = None) -> list[ReadyLine]:
    """Bars ready to ship now, and those expected by the day: earliest best-before first.

    A batch counts as expected when all gates that time opens are open by that day with the model's
    middle estimate; the tests and the release it still needs are named in its record.
    """
    lines = []
    for item in views(desk, in_stock=True):
        if item.bars <= 0 or (item.best_before is not None and item.best_before < item.today):
            continue
        state, coming = item.readiness.state, item.readiness.ready_by
        if state == "ready":
            lines.append(ReadyLine(item=item, now=True))
        elif by is not None and state in WAITING and state != "on hold" and coming is not None:
            if coming.expected <= by:
                lines.append(ReadyLine(item=item, now=False))

    def order(line: ReadyLine) -> tuple[bool, date, str]:
        return (not line.now, line.item.best_before or date.max, line.item.facts.lot_code)

    return sorted(lines, key=order)


def week_from(today: date) -> date:
    """The last day of the coming seven days."""
    return today + timedelta(days=7)


def by_variety(lines: Iterable[ReadyLine]) -> Sequence[tuple[str, int, int]]:
    """Bars by variety: name, ready now, expected by the day."""
    totals: dict[str, list[int]] = {}
    for line in lines:
        sums = totals.setdefault(line.item.recipe.name, [0, 0])
        sums[0 if line.now else 1] += line.item.bars
    return [(name, now, coming) for name, (now, coming) in sorted(totals.items())]


def mass_now_g(item: BatchView) -> float | None:
    """Expected mass of a bar today, g."""
    if item.forecast is None:
        return None
    return item.forecast.mass_at(float(item.day)).nominal


def batter_g(item: BatchView) -> Decimal:
    """Mass of the batter poured."""
    return g_from_mg(item.facts.pour.batter_mg)
