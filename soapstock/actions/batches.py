"""What a batch is today: composition, forecast, gates, best-before; curing and ready lists."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from soapstock.actions.desk import Desk, parsed_recipe, with_hyphens
from soapstock.errors import NotFound
from soapstock.units import g_from_mg

if TYPE_CHECKING:
    from soapstock.chemistry.composition import Composition
    from soapstock.chemistry.lye import FatPortion
    from soapstock.cure.drying import Faces
    from soapstock.cure.gates import Readiness
    from soapstock.cure.model import BatchStart, Forecast, WeighIn
    from soapstock.errors import Problem
    from soapstock.ledger.facts import BatchFacts, IngredientLot, Use
    from soapstock.ledger.reader import Reader
    from soapstock.recipes.recipe import Recipe
    from soapstock.recipes.weighed import ActualMasses
    from soapstock.shop import Shop

# Makers add only racks, shelves and stores, so these names are all there is beside those.
NOT_FOR_SALE = (
    "customer", "waste", "retained", "returned", "count-difference", "mould", "pot", "supplier",
)  # fmt: skip


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


def all_uses(facts: BatchFacts) -> tuple[Use, ...]:
    """All that went into the pot: from lots, then from none (water)."""
    return (*facts.pour.uses, *facts.pour.unlotted)


def actual_masses(facts: BatchFacts) -> ActualMasses:
    """The masses of a recorded pour, with each fat lot's saponification value."""
    from soapstock.chemistry.composition import Part
    from soapstock.recipes.weighed import ActualMasses

    fats, additions = [], []
    sums = {"naoh": 0, "koh": 0, "liquid": 0}
    for use in all_uses(facts):
        if use.role == "fat":
            fats.append(
                fat_portion(
                    use.ingredient, use.mass_mg, facts.ingredient_lots.get(use.lot_code or "")
                )
            )
        elif use.role in sums:
            sums[use.role] += use.mass_mg
        elif use.mass_mg and not use.bars:  # what rebatched soap brings: actions/rebatching.py
            additions.append(Part(key=use.ingredient, mass_g=use.mass_mg / 1000))
    return ActualMasses(
        fats=tuple(fats),
        naoh_g=sums["naoh"] / 1000,
        koh_g=sums["koh"] / 1000,
        water_g=sums["liquid"] / 1000,
        additions=tuple(additions),
    )


def fat_portion(fat: str, mass_mg: int, lot: IngredientLot | None) -> FatPortion:
    """A fat as weighed from a lot: its certificate's SV, else the table's less the lot's moisture.

    Acid value and moisture are the lot's when they were entered, else the fat's usual ones.
    """
    from soapstock.chemistry.certificates import wet_sv
    from soapstock.chemistry.fats import get_fat
    from soapstock.chemistry.interval import Interval
    from soapstock.chemistry.lye import FatPortion

    known = get_fat(fat)
    sv, acid, wet = known.sv, known.acid_value, known.moisture_percent
    if lot is not None and lot.moisture_percent is not None:
        sv, wet = wet_sv(known.sv, lot.moisture_percent), lot.moisture_percent
    if lot is not None and lot.acid_value is not None:
        acid = lot.acid_value
    if lot is not None and lot.sv_low and lot.sv_nominal and lot.sv_high:
        sv = Interval(low=lot.sv_low, nominal=lot.sv_nominal, high=lot.sv_high)
    return FatPortion(fat=fat, mass_g=mass_mg / 1000, sv=sv, acid_value=acid, moisture_percent=wet)


def start_of(
    facts: BatchFacts, recipe: Recipe, actual: ActualMasses, water_fraction: float, shop: Shop
) -> BatchStart | None:
    """Where drying starts: the bar's mass at unmoulding and the water its recipe put in.

    Water is neither made nor used up by saponification, so the share at unmoulding is the share
    as poured; what little dries in the mould is inside the weigh-ins' error. A batch still in its
    mould starts from its shape's planned wet mass, unmoulded after a day.
    """
    from soapstock.cure.model import BatchStart

    faces: Faces = "six" if shop.drying_faces == 6 else "five"
    if facts.unmould is None:
        planned_g = planned_bar_g(recipe, actual)
        if planned_g is None:
            return None
        return BatchStart(
            mass_per_bar_g=planned_g,
            day=1.0,
            water_fraction=water_fraction,
            shape=recipe.bar,
            scale_step_g=float(shop.scale_step_g),
            faces=faces,
        )
    mass_g = facts.unmould.counted_mass_mg / 1000 / facts.unmould.counted_bars
    return BatchStart(
        mass_per_bar_g=mass_g,
        day=float((facts.unmould.on - facts.poured_on).days),
        water_fraction=water_fraction,
        shape=recipe.bar,
        scale_step_g=float(shop.scale_step_g),
        faces=faces,
    )


def planned_bar_g(recipe: Recipe, actual: ActualMasses) -> float | None:
    """Wet mass of a bar by its shape and the batter's density, g; None without a shape."""
    from soapstock.recipes.moulds import batter_density_g_ml

    if recipe.bar is None:
        return None
    return recipe.bar.volume_ml * batter_density_g_ml(
        fat_g=sum(portion.mass_g for portion in actual.fats),
        alkali_g=actual.naoh_g + actual.koh_g,
        water_g=actual.water_g,
    )


def weigh_ins_of(facts: BatchFacts) -> tuple[WeighIn, ...]:
    """The batch's weigh-ins as the cure model takes them."""
    from soapstock.cure.model import WeighIn

    return tuple(
        WeighIn(day=float((w.on - facts.poured_on).days), mass_g=w.mass_mg / 1000, bars=w.bars)
        for w in facts.weigh_ins
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Poured:
    """What a batch was at its pour, before any forecast; soap rebatched in it is counted.

    `older` is the best-before of each lot rebatched in it.
    """

    facts: BatchFacts
    recipe: Recipe
    actual: ActualMasses
    composition: Composition
    start: BatchStart | None
    older: Mapping[str, date] = field(default_factory=dict)


def as_poured(desk: Desk, facts: BatchFacts) -> Poured:
    """A batch's recipe, masses, composition at pour, and where its drying starts."""
    from soapstock.actions.kin import whole_start
    from soapstock.recipes.weighed import composition_of

    recipe = parsed_recipe(facts.recipe_text, f"recipe {facts.recipe_code}")
    actual = actual_masses(facts)
    composition = composition_of(recipe, actual)
    older: Mapping[str, date] = {}
    if any(use.bars for use in facts.pour.uses):
        from soapstock.actions.rebatching import with_rebatched

        recipe, actual, composition, older = with_rebatched(
            desk, facts, recipe, actual, composition
        )
    start = start_of(facts, recipe, actual, composition.water_fraction, desk.shop)
    return Poured(
        facts=facts,
        recipe=recipe,
        actual=actual,
        composition=composition,
        start=whole_start(start, facts) if start is not None else None,
        older=older,
    )


def keeping_of(desk: Desk, poured: Poured) -> tuple[date | None, str]:
    """A batch's best-before and how it came about.

    Soap rebatched in it always shortens it; ingredient lots do by the shop's own rule.
    """
    from soapstock.labelling.dates import best_before

    facts = poured.facts
    months = poured.recipe.best_before_months or desk.shop.best_before_months
    lot_dates = {
        lot.lot_code: lot.best_before
        for lot in facts.ingredient_lots.values()
        if lot.best_before is not None
    }
    capped = desk.shop.keeping_rule == "earliest-ingredient"
    until, why = best_before(
        facts.poured_on, months, {**(lot_dates if capped else {}), **poured.older}
    )
    if not capped and desk.shop.keeping_reason:
        why = f"{why}; ingredient lots do not shorten it: {desk.shop.keeping_reason}"
    return until, why


def as_of(reader: Reader, batches: Sequence[BatchFacts], day: date) -> list[BatchFacts]:
    """Batches as the book had them at the end of a day: later facts and movements left out."""
    from soapstock.ledger.as_of import bars_by_place

    places = bars_by_place(reader, day)
    return [
        replace(
            facts,
            unmould=facts.unmould if facts.unmould and facts.unmould.on <= day else None,
            weigh_ins=tuple(w for w in facts.weigh_ins if w.on <= day),
            tests=tuple(t for t in facts.tests if t.on <= day),
            decisions=tuple(d for d in facts.decisions if d.on <= day),
            shipments=tuple(s for s in facts.shipments if s.on <= day),
            places=places.get(facts.lot_code, {}),
        )
        for facts in batches
        if facts.poured_on <= day
    ]


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


def for_sale(facts: BatchFacts) -> dict[str, int]:
    """Bars by place that could be sold: not gone, retained, returned or still in the mould."""
    return {p: n for p, n in facts.places.items() if n > 0 and p not in NOT_FOR_SALE}


def bars_in_hand(facts: BatchFacts) -> int:
    """How many bars could still be sold."""
    return sum(for_sale(facts).values())


def free_alkali(facts: BatchFacts) -> tuple[bool | None, str]:
    """Whether the free-alkali tests on record let the tested gate open, and in what words.

    The latest tongue, phenolphthalein or titration test decides; a pH never opens the gate, but a
    failed one shuts it.
    """
    verdict: bool | None = None
    note = "no free-alkali test on record"
    for record in facts.tests:
        words = f"{record.method} {record.value}".strip() + f" on {record.on.isoformat()}"
        if record.method == "ph":
            if not record.passed:
                verdict, note = False, f"{words} failed"
            continue
        verdict = record.passed
        note = f"{words} {'passed' if record.passed else 'failed'}"
    return verdict, note


def views(desk: Desk, *, in_stock: bool = False) -> list[BatchView]:
    """All batches as they stand today, or only those with bars in hand or in the mould."""
    with desk.ledger.read() as reader:
        now = is_now(desk, reader)
        # Looking back, a batch that has since gone may have been in stock.
        batches = reader.batches(in_stock=in_stock and now)
        return assess_all(desk, reader, batches, now=now, in_stock=in_stock)


def is_now(desk: Desk, reader: Reader) -> bool:
    """Whether nothing is on record after the desk's day."""
    from soapstock.ledger.as_of import latest_day

    last = latest_day(reader)
    return last is None or last <= desk.today


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
