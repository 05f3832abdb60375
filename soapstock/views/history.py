"""Everything the ledger knows of a lot."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any

from soapstock.codes.lot import LotCode, with_hyphens
from soapstock.desk.desk import Desk
from soapstock.desk.finding import read_lot
from soapstock.units import g_from_mg
from soapstock.views.batch import BatchView, view
from soapstock.views.lists import record
from soapstock.views.poured import all_uses
from soapstock.views.words import lost_percent

if TYPE_CHECKING:
    from soapstock.ledger.facts import BatchFacts, EntryRecord, IngredientLot, WeighRecord
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
    parts = [(weigh_in.room_c, "{:.0f} °C"), (weigh_in.room_rh, "{:.0f} %")]
    return ", ".join(form.format(value) for value, form in parts if value is not None)


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


def history_record(found: BatchHistory | IngredientHistory) -> dict[str, Any]:
    """The history as a JSON record."""
    if isinstance(found, IngredientHistory):
        return {
            "lot": found.lot.lot_code.shown,
            "ingredient": found.lot.ingredient,
            "received_on": found.lot.received_on,
            "supplier": found.lot.supplier,
            "supplier_lot": found.lot.supplier_lot,
            "mass_g": g_from_mg(found.lot.mass_mg),
            "left_g": g_from_mg(found.lot.left_mg),
            "best_before": found.lot.best_before,
            "hold": found.lot.hold_reason,
            "animal": found.lot.animal,
            "rendered_into": [code.shown for code in found.rendered],
            "used_in": [b.lot_code.shown for b in found.batches],
            "shipped_to": sorted({s.customer for b in found.batches for s in b.shipments}),
            "entries": [entry_record(e) for e in found.entries],
        }
    facts = found.item.facts
    return record(found.item) | {
        "recipe_code": facts.recipe_code,
        "recipe_version": facts.recipe_version,
        "poured_on": facts.poured_on,
        "by": facts.by,
        "ingredients": [
            {
                "ingredient": use.ingredient,
                "mass_g": g_from_mg(use.mass_mg),
                "lot": use.lot_shown or None,
                "supplier": lot.supplier if (lot := found.item.facts.lot_of(use)) else None,
                "supplier_lot": lot.supplier_lot if lot else None,
            }
            for use in all_uses(facts)
        ],
        "weigh_ins": [
            {
                "on": w.on,
                "bars": w.bars,
                "mass_g": g_from_mg(w.mass_mg),
                "room_c": w.room_c,
                "room_rh": w.room_rh,
            }
            for w in facts.weigh_ins
        ],
        "tests": [
            {"on": t.on, "method": t.method, "passed": t.passed, "value": t.value}
            for t in facts.tests
        ],
        "decisions": [
            {"on": d.on, "decision": d.decision, "by": d.by, "reason": d.reason}
            for d in facts.decisions
        ],
        "declared": [
            {"on": d.on, "mass_g": d.mass_g, "by": d.by, "reason": d.reason} for d in facts.declared
        ],
        "shipments": [
            {"on": s.on, "bars": s.bars, "customer": s.customer, "order": s.order_ref}
            for s in facts.shipments
        ],
        "entries": [entry_record(e) for e in found.entries],
    }


def entry_record(entry: EntryRecord) -> dict[str, Any]:
    """One entry of the ledger as a row."""
    return {
        "entry": entry.id,
        "kind": entry.kind,
        "happened_on": entry.happened_on,
        "entered_at": entry.entered_at,
        "by": entry.by,
        "what": with_hyphens(entry.summary),
        "undone_by": entry.undone_by,
        "note": entry.note,
    }


def entries(desk: Desk, lot: str | None, limit: int | None) -> list[dict[str, Any]]:
    """The ledger's entries, newest last; of one lot, or of all."""
    with desk.reading() as (here, reader):
        code = read_lot(here, lot) if lot else None
        return [entry_record(e) for e in reader.entries(code, limit)]
