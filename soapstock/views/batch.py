"""One batch on a day: composition, forecast, gates and best-before in one view."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from soapstock.codes.lot import LotCode, with_hyphens
from soapstock.desk.desk import Desk
from soapstock.errors import NotFound
from soapstock.units import g_from_mg
from soapstock.views.on_a_day import as_of, is_now
from soapstock.views.poured import (
    Poured,
    as_poured,
    free_alkali,
    keeping_of,
    standing_decision,
    weigh_ins_of,
)

if TYPE_CHECKING:
    from soapstock.chemistry.composition import Composition
    from soapstock.cure.gates import Readiness, ReadyBy
    from soapstock.cure.model import BatchStart, Forecast
    from soapstock.errors import Problem
    from soapstock.ledger.facts import BatchFacts
    from soapstock.ledger.read.reader import Reader
    from soapstock.recipes.recipe import Recipe
    from soapstock.recipes.weighed import ActualMasses


STOPPED = frozenset({"failed", "on hold", "rejected"})  # states made by a test or a person


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
    def stopped(self) -> bool:
        """A person or a failed test keeps the batch from sale."""
        return self.readiness.state in STOPPED

    @property
    def ready_by(self) -> ReadyBy | None:
        """When it is expected to be ready; None too when it is stopped, however dry it is."""
        return None if self.stopped else self.readiness.ready_by

    @property
    def expired(self) -> bool:
        """Its best-before has passed."""
        return self.best_before is not None and self.best_before < self.today

    @property
    def last_weight_g(self) -> float | None:
        """The latest weighed mass of a bar, or its mass at unmoulding."""
        if self.facts.weigh_ins:
            last = self.facts.weigh_ins[-1]
            return float(last.bar_g)
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
    from soapstock.cure.model import forecasts
    from soapstock.views.teachers import kind_of, recent_teachers

    if not now:
        batches = as_of(reader, batches, desk.today)
    if in_stock:
        batches = [facts for facts in batches if facts.unmould is None or facts.in_hand > 0]
    poured = [as_poured(desk, facts) for facts in batches]
    teachers = recent_teachers(desk, reader, now=now)
    poured_on = {b.lot: LotCode(b.lot).day for b in teachers.batches}
    jobs = []
    for p in poured:
        if p.start is None:
            continue
        earlier = {lot for lot, day in poured_on.items() if day < p.facts.poured_on}
        prior = teachers.prior(kind_of(p.facts), without=p.facts.lot_code, among=earlier)
        jobs.append((p.start, weigh_ins_of(p.facts), prior))
    outlooks = iter(forecasts(jobs) if jobs else [])
    return [assess(desk, p, next(outlooks) if p.start is not None else None) for p in poured]


def assess(desk: Desk, poured: Poured, outlook: Forecast | None) -> BatchView:
    """Everything today's date, the facts and the forecast say of a batch."""
    from soapstock.cure.gates import GateFacts, read_gates

    facts, recipe, start = poured.facts, poured.recipe, poured.start
    until, why = keeping_of(desk, poured)
    passed, note = free_alkali(facts)
    decision, decision_note = standing_decision(facts)
    in_hand = facts.in_hand
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
            decision=decision,
            decision_note=decision_note,
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
    with desk.reading() as (here, reader):
        now = is_now(here, reader)
        # Looking back, a batch that has since gone may have been in stock.
        batches = reader.batches(in_stock=in_stock and now)
        return assess_all(here, reader, batches, now=now, in_stock=in_stock)


def view(desk: Desk, code: LotCode) -> BatchView:
    """One batch as it stands today."""
    with desk.reading() as (here, reader):
        facts = reader.batch(code)
        found = assess_all(here, reader, [facts], now=is_now(here, reader))
    if not found:
        raise NotFound(
            f"{code.shown} was not poured before {facts.poured_on.isoformat()}",
            hint="the day asked about lies before the pour",
        )
    return found[0]


def mass_now_g(item: BatchView) -> float | None:
    """Expected mass of a bar today, g."""
    if item.forecast is None:
        return None
    return item.forecast.mass_at(float(item.day)).nominal


def batter_g(item: BatchView) -> Decimal:
    """Mass of the batter poured."""
    return g_from_mg(item.facts.pour.batter_mg)
