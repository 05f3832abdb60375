"""Everything the ledger knows of a lot."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from decimal import Decimal
from typing import TYPE_CHECKING

from soapstock.codes.lot import LotCode, with_hyphens
from soapstock.desk.desk import Desk
from soapstock.desk.finding import read_lot
from soapstock.exchange.tabular import SPREAD
from soapstock.units import degrees, g_from_mg
from soapstock.views.batch import BatchView, view
from soapstock.views.lists import BatchRow, row
from soapstock.views.poured import all_uses
from soapstock.views.words import lost_percent

if TYPE_CHECKING:
    from soapstock.cure.words import Decision, Method
    from soapstock.ledger.facts import BatchFacts, EntryRecord, IngredientLot, Use, WeighRecord
    from soapstock.ledger.read.reader import Reader


@dataclass(frozen=True, slots=True, kw_only=True)
class BatchHistory:
    """A batch with the ingredient lots it used and its entries in order."""

    item: BatchView
    entries: tuple[EntryRecord, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class IngredientHistory:
    """An ingredient lot with the batches it reached.

    Attributes:
        batches: those that used it, or used what was made from it, to any depth.
        through: of a batch that did not use the lot itself, the lot that brought it there.
        rendered: lots rendered from it.
    """

    lot: IngredientLot
    batches: tuple[BatchFacts, ...]
    entries: tuple[EntryRecord, ...]
    through: Mapping[LotCode, LotCode]
    rendered: tuple[LotCode, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class WeightLine:
    """A bar's mass on the day it was unmoulded, or weighed in.

    Attributes:
        on: the day.
        age_days: days since the pour.
        bars: how many were on the scale together.
        bar_g: mass of one, g.
        lost_percent: lost of its mass at unmoulding, %.
        water_left: of the water it held at unmoulding, 0 to 1.
        room: air of the room then, such as `15 °C, 60 %`; may be empty.
    """

    on: date
    age_days: int
    bars: int
    bar_g: float
    lost_percent: float
    water_left: float
    room: str


def weight_lines(item: BatchView) -> list[WeightLine]:
    """The unmoulding and the weigh-ins of a batch; empty while no start is known."""
    out, start_g = item.facts.unmould, item.start_g
    if out is None or item.start is None or not start_g:
        return []
    floor_g = start_g * (1.0 - item.start.water_fraction)

    def line(on: date, bars: int, bar_g: float, room: str = "") -> WeightLine:
        return WeightLine(
            on=on,
            age_days=(on - item.facts.poured_on).days,
            bars=bars,
            bar_g=bar_g,
            lost_percent=lost_percent(item, bar_g),
            water_left=max(0.0, min(1.0, (bar_g - floor_g) / (start_g - floor_g))),
            room=room,
        )

    weighed = [line(w.on, w.bars, float(w.bar_g), _room(w)) for w in item.facts.weigh_ins]
    return [line(out.on, out.counted_bars, start_g), *weighed]


def _room(weigh_in: WeighRecord) -> str:
    parts = [] if weigh_in.room_c is None else [degrees(weigh_in.room_c)]
    parts += [] if weigh_in.room_rh is None else [f"{weigh_in.room_rh:.0f} %"]
    return ", ".join(parts)


def scan(desk: Desk, text: str) -> BatchHistory | IngredientHistory:
    """Read a code in any form and gather the history of its lot. Raises BadInput or NotFound."""
    with desk.reading() as (here, reader):
        code = read_lot(here, text)
        entries = tuple(reader.entries(code))
        if reader.lot_kind(code) != "batch":
            return _of_ingredient(reader, code, entries)
        return BatchHistory(item=view(here, code), entries=entries)


def _of_ingredient(
    reader: Reader, code: str, entries: tuple[EntryRecord, ...]
) -> IngredientHistory:

    found = reader.follow(code)
    direct = {link.made for link in found.links if link.source == code}
    depth = {lot.lot_code: lot.depth for lot in found.forward}
    reached = [lot.lot_code for lot in found.forward if lot.kind == "batch"]
    return IngredientHistory(
        lot=reader.ingredient_lot(code),
        batches=tuple(reader.batches(reached)),
        entries=entries,
        through={
            link.made: link.source
            for link in sorted(found.links, key=lambda x: -depth.get(x.source, 0))  # nearest last
            if link.source in depth and link.made in reached and link.made not in direct
        },
        rendered=tuple(
            lot.lot_code for lot in found.forward if lot.kind != "batch" and lot.lot_code != code
        ),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class EntryRow:
    """One entry of the ledger as a row; `what` says it in words."""

    entry: int
    kind: str
    happened_on: date
    entered_at: datetime
    by: str
    what: str
    undone_by: int | None
    note: str


@dataclass(frozen=True, slots=True, kw_only=True)
class IngredientRow:
    """The history of an ingredient lot, masses in g; `hold` is why nothing may be taken of it."""

    lot: LotCode
    ingredient: str
    received_on: date
    supplier: str
    supplier_lot: str
    mass_g: Decimal
    left_g: Decimal
    best_before: date | None
    hold: str
    animal: str
    rendered_into: tuple[LotCode, ...]
    used_in: tuple[LotCode, ...]
    shipped_to: tuple[str, ...]
    entries: tuple[EntryRow, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class UseRow:
    """One thing that went into a pot, g, and where it came from."""

    ingredient: str
    mass_g: Decimal
    lot: LotCode | None
    supplier: str | None
    supplier_lot: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class WeighRow:
    """A weigh-in: all the bars on the scale together, g, and the room's air."""

    on: date
    bars: int
    mass_g: Decimal
    room_c: float | None
    room_rh: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class TestRow:
    """A test of a batch; `value` as it was entered."""

    __test__ = False  # so that pytest does not take it for a test class

    on: date
    method: Method
    passed: bool
    value: str


@dataclass(frozen=True, slots=True, kw_only=True)
class DecisionRow:
    """A person's decision on a batch."""

    on: date
    decision: Decision
    by: str
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class DeclaredRow:
    """Another weight declared for a batch, g a bar."""

    on: date
    mass_g: Decimal
    by: str
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ShipmentRow:
    """Bars that left for a customer."""

    on: date
    bars: int
    customer: str
    order: str


@dataclass(frozen=True, slots=True, kw_only=True)
class BatchHistoryRow:
    """The history of a batch."""

    batch: BatchRow = field(metadata=SPREAD)
    recipe_code: str
    recipe_version: int
    poured_on: date
    by: str
    ingredients: tuple[UseRow, ...]
    weigh_ins: tuple[WeighRow, ...]
    tests: tuple[TestRow, ...]
    decisions: tuple[DecisionRow, ...]
    declared: tuple[DeclaredRow, ...]
    shipments: tuple[ShipmentRow, ...]
    entries: tuple[EntryRow, ...]


def history_row(found: BatchHistory | IngredientHistory) -> BatchHistoryRow | IngredientRow:
    """The history of a lot as a record."""
    return _ingredient(found) if isinstance(found, IngredientHistory) else _batch(found)


def _ingredient(found: IngredientHistory) -> IngredientRow:
    lot = found.lot
    return IngredientRow(
        lot=lot.lot_code,
        ingredient=lot.ingredient,
        received_on=lot.received_on,
        supplier=lot.supplier,
        supplier_lot=lot.supplier_lot,
        mass_g=g_from_mg(lot.mass_mg),
        left_g=lot.left_g,
        best_before=lot.best_before,
        hold=lot.hold_reason,
        animal=lot.animal,
        rendered_into=found.rendered,
        used_in=tuple(b.lot_code for b in found.batches),
        shipped_to=tuple(sorted({s.customer for b in found.batches for s in b.shipments})),
        entries=tuple(map(entry_row, found.entries)),
    )


def _batch(found: BatchHistory) -> BatchHistoryRow:
    facts = found.item.facts
    return BatchHistoryRow(
        batch=row(found.item),
        recipe_code=facts.recipe_code,
        recipe_version=facts.recipe_version,
        poured_on=facts.poured_on,
        by=facts.by,
        ingredients=tuple(_use(facts, use) for use in all_uses(facts)),
        weigh_ins=tuple(
            WeighRow(on=w.on, bars=w.bars, mass_g=w.mass_g, room_c=w.room_c, room_rh=w.room_rh)
            for w in facts.weigh_ins
        ),
        tests=tuple(
            TestRow(on=t.on, method=t.method, passed=t.passed, value=t.value) for t in facts.tests
        ),
        decisions=tuple(
            DecisionRow(on=d.on, decision=d.decision, by=d.by, reason=d.reason)
            for d in facts.decisions
        ),
        declared=tuple(
            DeclaredRow(on=d.on, mass_g=d.mass_g, by=d.by, reason=d.reason) for d in facts.declared
        ),
        shipments=tuple(
            ShipmentRow(on=s.on, bars=s.bars, customer=s.customer, order=s.order_ref)
            for s in facts.shipments
        ),
        entries=tuple(map(entry_row, found.entries)),
    )


def _use(facts: BatchFacts, use: Use) -> UseRow:
    lot = facts.lot_of(use)
    return UseRow(
        ingredient=use.ingredient,
        mass_g=g_from_mg(use.mass_mg),
        lot=use.lot_code,
        supplier=lot.supplier if lot else None,
        supplier_lot=lot.supplier_lot if lot else None,
    )


def entry_row(entry: EntryRecord) -> EntryRow:
    """One entry of the ledger as a row."""
    return EntryRow(
        entry=entry.id,
        kind=entry.kind,
        happened_on=entry.happened_on,
        entered_at=entry.entered_at,
        by=entry.by,
        what=with_hyphens(entry.summary),
        undone_by=entry.undone_by,
        note=entry.note,
    )


def entries(desk: Desk, lot: str | None, limit: int | None) -> list[EntryRow]:
    """The ledger's entries, newest last; of one lot, or of all."""
    with desk.reading() as (here, reader):
        code = read_lot(here, lot) if lot else None
        return [entry_row(e) for e in reader.entries(code, limit)]
