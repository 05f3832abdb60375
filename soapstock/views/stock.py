"""What stands where: bars, ingredients, places, levels, labels and samples."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING, Any

from soapstock.desk.desk import Desk
from soapstock.errors import NotFound
from soapstock.ledger.places import KINDS
from soapstock.units import g_from_mg, several
from soapstock.views.on_a_day import is_now

if TYPE_CHECKING:
    from soapstock.ledger.facts import IngredientLot
    from soapstock.ledger.read.reader import Reader


def stock(desk: Desk) -> list[dict[str, Any]]:
    """What lies where on the desk's day: one row a lot and place, real places only."""
    from soapstock.ledger.facts import StockLine

    def row(line: StockLine) -> dict[str, Any]:
        return {
            "lot": line.lot_code.shown,
            "item": line.item,
            "place": line.place,
            "quantity": line.quantity if line.unit == "bars" else g_from_mg(line.quantity),
            "unit": "bars" if line.unit == "bars" else "g",
        }

    with desk.ledger.read() as reader:
        found = reader.stock() if is_now(desk, reader) else reader.stock_on(desk.today)
    lines = [x for x in found if KINDS[x.place_kind].holds]
    return [row(line) for line in lines]


def ingredient_lots(
    desk: Desk, ingredient: str | None, *, everything: bool
) -> list[dict[str, Any]]:
    """Ingredient lots on the desk's day, first expired first; used-up ones only when asked for."""
    with desk.ledger.read() as reader:
        lots = reader.ingredient_lots(ingredient)
        if not is_now(desk, reader):
            lots = _as_they_were(reader, lots, desk.today)
    lots = [lot for lot in lots if everything or lot.left_mg > 0]
    lots.sort(key=lambda lot: (lot.ingredient, lot.best_before or date.max, lot.received_on))
    return [
        {
            "lot": lot.lot_code.shown,
            "ingredient": lot.ingredient,
            "received_on": lot.received_on,
            "supplier": lot.supplier,
            "supplier_lot": lot.supplier_lot or lot.animal,
            "received_g": g_from_mg(lot.mass_mg),
            "left_g": g_from_mg(lot.left_mg),
            "best_before": lot.best_before,
            "certificate_sv": (
                f"{lot.sv_low:g}-{lot.sv_high:g}" if lot.sv_low and lot.sv_high else ""
            ),
            "hold": lot.hold_reason,
            "cost": f"{lot.cost_cents / 100:.2f} {lot.currency}" if lot.cost_cents else "",
        }
        for lot in lots
    ]


def _as_they_were(reader: Reader, lots: Sequence[IngredientLot], day: date) -> list[IngredientLot]:
    """Lots received by a day, with what was left of them then."""
    left: Counter[str] = Counter()
    for line in reader.stock_on(day):
        if line.unit == "mg" and KINDS[line.place_kind].for_sale:
            left[line.lot_code] += line.quantity
    return [replace(lot, left_mg=left[lot.lot_code]) for lot in lots if lot.received_on <= day]


def places(desk: Desk) -> list[dict[str, Any]]:
    """Places that hold stock, with bars there and room left."""
    there: dict[str, int] = defaultdict(int)
    with desk.ledger.read() as reader:
        for line in reader.stock():
            if line.unit == "bars":
                there[line.place] += line.quantity
        known = reader.places()
    return [
        {
            "place": p.name,
            "kind": p.kind,
            "bars": there[p.name],
            "capacity": p.capacity_bars,
            "room": None if p.capacity_bars is None else p.capacity_bars - there[p.name],
        }
        for p in known
        if KINDS[p.kind].holds
    ]


def reconcile(desk: Desk) -> list[dict[str, Any]]:
    """Labels against bars, lot by lot.

    Every bar that left carries a label, so fewer used labels than bars shipped, or fewer labels
    than were used and spoiled, is a difference to explain.
    """
    with desk.ledger.read() as reader:
        counts = reader.label_counts()
        batches = {b.lot_code: b for b in reader.batches([c.lot_code for c in counts])}
    rows = []
    for count in counts:
        facts = batches.get(count.lot_code)
        if facts is None:
            raise NotFound(f"labels name a batch that is gone: {count.lot_code}")
        shipped = facts.places.get("customer", 0) + facts.places.get("returned", 0)
        good = facts.unmould.bars if facts.unmould else 0
        finding = ""
        if count.left < 0:
            finding = f"{-count.left} more used and spoiled than printed"
        elif count.used > good:
            finding = f"{count.used - good} more used than bars made"
        elif count.used < shipped:
            finding = f"{several(shipped - count.used, 'bar')} shipped without a label counted"
        rows.append(
            {
                "lot": count.lot_code.shown,
                "printed": count.printed,
                "spoiled": count.spoiled,
                "used": count.used,
                "left": count.left,
                "bars_made": good,
                "shipped": shipped,
                "finding": finding,
            }
        )
    return rows


def samples(desk: Desk) -> list[dict[str, Any]]:
    """Retained samples by lot, and batches that have shipped without any."""
    with desk.ledger.read() as reader:
        batches = reader.batches()
    return [
        {
            "lot": b.lot_code.shown,
            "recipe": b.recipe_code,
            "poured_on": b.poured_on,
            "retained": b.places.get("retained", 0),
            "finding": "" if b.places.get("retained") else "shipped without a retained sample",
        }
        for b in batches
        if b.places.get("retained") or b.shipments
    ]
