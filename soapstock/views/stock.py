"""What stands where: bars, ingredients, places, levels, labels and samples."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import TYPE_CHECKING, Literal

from soapstock.desk.desk import Desk
from soapstock.desk.ingredients import canonical, known_ingredient
from soapstock.errors import NotFound
from soapstock.ledger.places import KINDS
from soapstock.recipes.keys import keys_meant
from soapstock.units import g_from_mg, several
from soapstock.views.batch import views
from soapstock.views.on_a_day import is_now
from soapstock.views.orders import supply_day

if TYPE_CHECKING:
    from decimal import Decimal

    from soapstock.codes.lot import LotCode
    from soapstock.ledger.facts import BatchFacts, IngredientLot, StockLine
    from soapstock.ledger.places import PlaceKind
    from soapstock.ledger.read.reader import Reader
    from soapstock.ledger.read.trade import LabelCount


@dataclass(frozen=True, slots=True, kw_only=True)
class StockRow:
    """How much of one lot lies at one place; the unit is bars or g.

    Attributes:
        lot_kept: bars of the whole lot kept for orders, wherever they lie; None of an ingredient.
        lot_free: bars of the whole lot that may still be promised: kept for no order, and of no
            batch that is stopped, out of date, or too light for what it declares.
    """

    lot: LotCode
    item: str
    place: str
    quantity: int | Decimal
    unit: Literal["bars", "g"]
    lot_kept: int | None = None
    lot_free: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class IngredientLotRow:
    """An ingredient lot; `hold` says why nothing may be taken of it."""

    lot: LotCode
    ingredient: str
    received_on: date
    supplier: str
    supplier_lot: str
    received_g: Decimal
    left_g: Decimal
    best_before: date | None
    certificate_sv: str
    hold: str
    cost: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceRow:
    """A place, the bars there, and how many more it holds when that is known."""

    place: str
    kind: PlaceKind
    bars: int
    capacity: int | None
    room: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class LabelsRow:
    """The labels of a lot against its bars; `finding` is a difference to explain."""

    lot: LotCode
    printed: int
    spoiled: int
    used: int
    left: int
    bars_made: int
    shipped: int
    finding: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SampleRow:
    """The bars kept back of a lot; `finding` when it shipped without any."""

    lot: LotCode
    recipe: str
    poured_on: date
    retained: int
    finding: str


def stock(desk: Desk) -> list[StockRow]:
    """What lies where on the desk's day: one row a lot and place, real places only."""
    with desk.reading() as (here, reader):
        found = reader.stock() if is_now(here, reader) else reader.stock_on(desk.today)
        kept = reader.reserved_by_lot()
        items = views(here, in_stock=True)
    free = {
        item.facts.lot_code: max(item.bars - kept.get(item.facts.lot_code, 0), 0)
        for item in items
        if supply_day(item, optimistic=False) is not None and not item.expired
    }
    return [_stock_row(line, kept, free) for line in found if KINDS[line.place_kind].holds]


def _stock_row(
    line: StockLine, kept: Mapping[LotCode, int], free: Mapping[LotCode, int]
) -> StockRow:
    bars = line.unit == "bars"
    return StockRow(
        lot=line.lot_code,
        item=line.item,
        place=line.place,
        quantity=line.quantity if bars else g_from_mg(line.quantity),
        unit="bars" if bars else "g",
        lot_kept=kept.get(line.lot_code, 0) if bars else None,
        lot_free=free.get(line.lot_code, 0) if bars else None,
    )


def ingredient_lots(
    desk: Desk, ingredient: str | None, *, everything: bool
) -> list[IngredientLotRow]:
    """Ingredient lots on the desk's day, first expired first; used-up ones only when asked for.

    Args:
        ingredient: any name of one, or the beginning of a word of several, such as `tallow`.

    Raises:
        NotFound: nothing goes by that name.
    """
    with desk.ledger.read() as reader:
        lots = reader.ingredient_lots(None)
        if ingredient is not None:
            meant = keys_meant(ingredient, {lot.ingredient for lot in lots}, canonical)
            lots = [lot for lot in lots if lot.ingredient in (meant or [ingredient])]
        if not is_now(desk, reader):
            lots = _as_they_were(reader, lots, desk.today)
    if ingredient is not None and not lots:
        known_ingredient(desk, ingredient)
    lots = [lot for lot in lots if everything or lot.left_mg > 0]
    lots.sort(key=lambda lot: (lot.ingredient, lot.best_before or date.max, lot.received_on))
    return [
        IngredientLotRow(
            lot=lot.lot_code,
            ingredient=lot.ingredient,
            received_on=lot.received_on,
            supplier=lot.supplier,
            supplier_lot=lot.supplier_lot or lot.animal,
            received_g=g_from_mg(lot.mass_mg),
            left_g=lot.left_g,
            best_before=lot.best_before,
            certificate_sv=f"{lot.sv_low:g}-{lot.sv_high:g}" if lot.sv_low and lot.sv_high else "",
            hold=lot.hold_reason,
            cost=f"{lot.cost_cents / 100:.2f} {lot.currency}" if lot.cost_cents else "",
        )
        for lot in lots
    ]


def _as_they_were(reader: Reader, lots: Sequence[IngredientLot], day: date) -> list[IngredientLot]:
    """Lots received by a day, with what was left of them then."""
    left: Counter[str] = Counter()
    for line in reader.stock_on(day):
        if line.unit == "mg" and KINDS[line.place_kind].for_sale:
            left[line.lot_code] += line.quantity
    return [replace(lot, left_mg=left[lot.lot_code]) for lot in lots if lot.received_on <= day]


def places(desk: Desk) -> list[PlaceRow]:
    """Places that hold stock, with bars there and room left."""
    there: dict[str, int] = defaultdict(int)
    with desk.ledger.read() as reader:
        for line in reader.stock():
            if line.unit == "bars":
                there[line.place] += line.quantity
        known = reader.places()
    return [
        PlaceRow(
            place=p.name,
            kind=p.kind,
            bars=there[p.name],
            capacity=p.capacity_bars,
            room=None if p.capacity_bars is None else p.capacity_bars - there[p.name],
        )
        for p in known
        if KINDS[p.kind].holds
    ]


def reconcile(desk: Desk) -> list[LabelsRow]:
    """Labels against bars, lot by lot.

    Every bar that left carries a label, so fewer used labels than bars shipped, or fewer labels
    than were used and spoiled, is a difference to explain.
    """
    with desk.ledger.read() as reader:
        counts = reader.label_counts()
        batches = {b.lot_code: b for b in reader.batches([c.lot_code for c in counts])}
    for count in counts:
        if count.lot_code not in batches:
            raise NotFound(f"labels name a batch that is gone: {count.lot_code.shown}")
    return [_labels_row(count, batches[count.lot_code]) for count in counts]


def _labels_row(count: LabelCount, facts: BatchFacts) -> LabelsRow:
    shipped = facts.places.get("customer", 0) + facts.places.get("returned", 0)
    good = facts.unmould.bars if facts.unmould else 0
    finding = ""
    if count.left < 0:
        finding = f"{-count.left} more used and spoiled than printed"
    elif count.used > good:
        finding = f"{count.used - good} more used than bars made"
    elif count.used < shipped:
        finding = f"{several(shipped - count.used, 'bar')} shipped without a label counted"
    return LabelsRow(
        lot=count.lot_code,
        printed=count.printed,
        spoiled=count.spoiled,
        used=count.used,
        left=count.left,
        bars_made=good,
        shipped=shipped,
        finding=finding,
    )


def samples(desk: Desk) -> list[SampleRow]:
    """Retained samples by lot, and batches that have shipped without any."""
    with desk.ledger.read() as reader:
        batches = reader.batches()
    return [
        SampleRow(
            lot=b.lot_code,
            recipe=b.recipe_code,
            poured_on=b.poured_on,
            retained=b.places.get("retained", 0),
            finding="" if b.places.get("retained") else "shipped without a retained sample",
        )
        for b in batches
        if b.places.get("retained") or b.shipments
    ]
