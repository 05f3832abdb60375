"""Reading batches whole: a fixed number of queries however many batches there are."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from typing import Any

from sqlalchemy import Connection

from soapstock.codes.lot import LotCode
from soapstock.errors import Mend, NotFound, RuleBroken
from soapstock.ledger.base.sql import many_records, part, query
from soapstock.ledger.facts import (
    BatchFacts,
    Held,
    IngredientLot,
    Pour,
    PourFacts,
    Receipt,
    ShipmentRecord,
    Use,
    UseLine,
    batch_facts,
    columns_of,
)
from soapstock.ledger.read.snapshot import Snapshot

MANY = 400  # above it, lots are chosen in Python: a longer IN list costs more than it saves

RECEIPTS = """
    SELECT r.*, l.code, e.happened_on,
        (SELECT sum(p.quantity) FROM posting p
         WHERE p.lot_id = r.entry_id AND p.unit = 'mg' AND AT(p.place, for_sale)) AS left_mg,
        (SELECT d.reason FROM decision d WHERE d.decision = 'hold' AND d.entry_id = (
            SELECT max(x.entry_id) FROM decision x
            WHERE x.lot_id = r.entry_id AND LIVE(x.entry_id))) AS hold_reason
    FROM receipt r JOIN lot l ON l.id = r.entry_id JOIN entry e ON e.id = r.entry_id
    WHERE LIVE(r.entry_id) CHOSEN ORDER BY r.entry_id"""
# Which receipts: all, or by ingredient, by lot code, or those that went into pots.
RECEIPTS_BY = {
    "": "",
    "ingredient": "AND r.ingredient = :value",
    "code": "AND l.code = :value",
    "pots": "AND r.entry_id IN (SELECT u.lot_id FROM use_line u WHERE u.entry_id IN :value)",
}
IN_STOCK = """
    SELECT p.lot_id FROM posting p
    WHERE AT(p.place, open)
        AND p.lot_id IN (SELECT l.id FROM lot l WHERE l.kind = 'batch')
    GROUP BY p.lot_id, p.unit HAVING sum(p.quantity) > 0"""

POUR = tuple(columns_of(Pour))
USE = tuple(columns_of(UseLine))
RECEIPT = tuple(columns_of(Receipt))


def _columns(prefix: str, names: Iterable[str]) -> str:
    return " ".join(f"{prefix}.{name}" for name in names)


def _about_lots(record: Any) -> tuple[str, str]:
    """The part that reads a fact about batches."""
    return (
        "f.lot_id f.entry_id e.happened_on e.by e.note " + _columns("f", columns_of(record)),
        f"""FROM {record.TABLE} f JOIN entry e ON e.id = f.entry_id
        WHERE LIVE(f.entry_id) CHOSEN ORDER BY f.entry_id""",
    )


# The parts of a batch by name: their columns, the first of which says whose they are, and where
# they come from; CHOSEN gives way to the choice of lots, if any.
PARTS = {
    "pours": (
        "p.entry_id p.recipe_entry_id l.code e.happened_on e.by e.note " + _columns("p", POUR),
        """FROM pour p JOIN entry e ON e.id = p.entry_id JOIN lot l ON l.id = p.entry_id
        WHERE LIVE(p.entry_id) CHOSEN ORDER BY p.entry_id""",
    ),
    "uses": (
        "u.entry_id u.lot_id l.code " + _columns("u", USE),
        """FROM use_line u LEFT JOIN lot l ON l.id = u.lot_id
        WHERE 1 = 1 CHOSEN ORDER BY u.entry_id, u.line""",
    ),
    "shipments": (
        "f.lot_id l.code f.entry_id e.happened_on e.by e.note f.quantity f.customer f.order_ref "
        "f.destination f.from_place",
        """FROM movement f JOIN entry e ON e.id = f.entry_id JOIN lot l ON l.id = f.lot_id
        WHERE f.to_place = 'customer' AND LIVE(f.entry_id) CHOSEN ORDER BY f.entry_id""",
    ),
    "held": (
        "f.lot_id f.place k.kind sum(f.quantity)",
        """FROM posting f JOIN place k ON k.name = f.place
        WHERE f.unit = 'bars' AND AT(f.place, real) CHOSEN
        GROUP BY f.lot_id, f.place, k.kind""",
    ),
    **{name: _about_lots(record) for name, (record, _) in batch_facts().items()},
}


class BatchReader(Snapshot):
    """Reads of ingredient lots and batches."""

    def ingredient_lots(self, ingredient: str | None = None) -> list[IngredientLot]:
        """Ingredient lots not undone, earliest best-before first, then oldest."""
        lots = self._ingredient_lots("ingredient" if ingredient else "", ingredient).values()
        return sorted(
            lots,
            key=lambda lot: (
                lot.best_before is None,
                lot.best_before or lot.received_on,
                lot.entry_id,
            ),
        )

    def ingredient_lot(self, code: str) -> IngredientLot:
        """One ingredient lot. Raises NotFound."""
        for lot in self._ingredient_lots("code", code).values():
            return lot
        raise NotFound(f"no ingredient lot {code}", mend=Mend("list_lots"))

    def _ingredient_lots(self, by: str, value: Any = None) -> dict[int, IngredientLot]:
        found = query(RECEIPTS.replace("CHOSEN", RECEIPTS_BY[by]))
        rows = self.db.execute(found, {"value": value} if by else {})
        return {row.entry_id: _ingredient_lot(row) for row in rows}

    def from_before_with(self, lot: str) -> list[LotCode]:
        """Batches from before the ledger that hold this lot's ingredient, of whatever lot."""
        sql = """SELECT DISTINCT m.code FROM use_line u JOIN lot m ON m.id = u.entry_id
            JOIN lot l ON l.item = u.ingredient AND l.kind = 'ingredient' AND l.code = :lot
            WHERE u.lot_id IS NULL AND u.role <> 'liquid' AND LIVE(u.entry_id) ORDER BY m.code"""
        return list(map(LotCode, self.db.execute(query(sql), {"lot": lot}).scalars()))

    def cooling_minutes(self) -> dict[int, float]:
        """Minutes from the lye's peak to its temperature at pour, by the pour's entry."""
        sql = "SELECT p.entry_id, p.cooled_minutes FROM pour p WHERE p.cooled_minutes IS NOT NULL"
        return {entry_id: float(value) for entry_id, value in self.db.execute(query(sql))}

    def batch(self, lot: str) -> BatchFacts:
        """Everything on record about one batch.

        Raises:
            NotFound: no such lot.
            RuleBroken: the lot is an ingredient.
        """
        found = self._batches(self._live_lot_ids([lot]))
        if found:
            return found[0]
        if self._ingredient_lots("code", lot):
            raise RuleBroken(f"{lot} is an ingredient lot, not a lot of bars")
        raise NotFound(f"no batch {lot}", hint="check the code", mend=Mend("list_batches"))

    def batches(
        self, lots: Collection[str] | None = None, *, in_stock: bool = False
    ) -> list[BatchFacts]:
        """Batches in the order they were poured.

        Args:
            lots: only these lot codes; unknown ones are left out.
            in_stock: only batches still in the mould or with bars on a rack, shelf or store.
        """
        if lots is not None:
            return self._batches(self._live_lot_ids(lots))
        if in_stock:
            return self._batches(self._lot_ids_in_stock())
        return self._batches(None)

    def _live_lot_ids(self, codes: Iterable[str]) -> list[int]:
        sql = "SELECT l.id FROM lot l WHERE l.code IN :codes AND LIVE(l.id)"
        return list(self.db.execute(query(sql), {"codes": list(codes)}).scalars())

    def _lot_ids_in_stock(self) -> list[int]:
        return sorted(set(self.db.execute(query(IN_STOCK)).scalars()))

    def _batches(self, ids: list[int] | None) -> list[BatchFacts]:
        if ids is not None and not ids:
            return []
        with many_records():
            return self._read_batches(ids)

    def _read_batches(self, ids: list[int] | None) -> list[BatchFacts]:
        few = ids if ids is not None and len(ids) <= MANY else None
        wanted = None if ids is None else set(ids)
        pours = _rows(self.db, "pours", few)
        if wanted is not None:
            pours = [row for row in pours if row.entry_id in wanted]
        parts = {name: _grouped(self.db, name, few) for name in PARTS if name != "pours"}
        sql = "SELECT r.entry_id, r.code, r.version, r.text FROM recipe_version r"
        recipes = {r.entry_id: r for r in self.db.execute(query(sql))}
        lots = self._ingredient_lots("" if few is None else "pots", few)
        return [_batch(row, recipes[row.recipe_entry_id], parts, lots) for row in pours]


def part_of(name: str, chosen: str = "", before: str = "") -> Any:
    """The query of a part; of all lots, or those that fulfil `chosen`, a condition from AND on."""
    columns, rest = PARTS[name]
    return part(columns, rest.replace("CHOSEN", chosen), before)


def _rows(db: Connection, name: str, few: list[int] | None) -> list[Any]:
    if few is None:
        return list(db.execute(part_of(name)).all())
    key = PARTS[name][0].partition(" ")[0]
    return list(db.execute(part_of(name, f"AND {key} IN :lots"), {"lots": few}).all())


def _grouped(db: Connection, name: str, few: list[int] | None) -> dict[int, list[Any]]:
    groups: dict[int, list[Any]] = defaultdict(list)
    for row in _rows(db, name, few):
        groups[row[0]].append(row)
    return groups


def _ingredient_lot(row: Any) -> IngredientLot:
    return IngredientLot(
        lot_code=LotCode(row.code),
        received_on=row.happened_on,
        left_mg=int(row.left_mg or 0),
        entry_id=row.entry_id,
        hold_reason=row.hold_reason or "",
        **{name: getattr(row, name) for name in RECEIPT},
    )


def _use(row: Any) -> Use:
    _, _, code, *values = row
    return Use(
        lot_code=None if code is None else LotCode(code), **dict(zip(USE, values, strict=True))
    )


def _pour(row: Any, recipe: Any, uses: list[Any]) -> PourFacts:
    used = [_use(use) for use in uses]
    return PourFacts(
        lot_code=LotCode(row.code),
        recipe_code=recipe.code,
        recipe_version=recipe.version,
        uses=tuple(use for use in used if use.lot_code is not None),
        unlotted=tuple(use for use in used if use.lot_code is None),
        **dict(zip(POUR, row[-len(POUR) :], strict=True)),
    )


def _batch(
    row: Any,
    recipe: Any,
    parts: Mapping[str, Mapping[int, list[Any]]],
    lots: dict[int, IngredientLot],
) -> BatchFacts:
    lot_id = row.entry_id
    uses = parts["uses"].get(lot_id, [])
    return BatchFacts(
        lot_code=LotCode(row.code),
        recipe_code=recipe.code,
        recipe_version=recipe.version,
        recipe_text=recipe.text,
        poured_on=row.happened_on,
        by=row.by,
        entry_id=lot_id,
        note=row.note,
        pour=_pour(row, recipe, uses),
        ingredient_lots={LotCode(u.code): lots[u.lot_id] for u in uses if u.lot_id in lots},
        held=tuple(
            Held(place, kind, int(bars))
            for _, place, kind, bars in parts["held"].get(lot_id, ())
            if bars
        ),
        shipments=tuple(map(shipment, parts["shipments"].get(lot_id, ()))),
        **{
            name: _stated(record, parts[name].get(lot_id, []), many=many)
            for name, (record, many) in batch_facts().items()
        },
    )


def _stated(record: Any, rows: list[Any], *, many: bool) -> Any:
    """The records of one lot: all of them, or the newest, if any."""
    names = ("entry_id", "on", "by", "note", *columns_of(record))
    if many:
        return tuple(record(**dict(zip(names, row[1:], strict=True))) for row in rows)
    return record(**dict(zip(names, rows[-1][1:], strict=True))) if rows else None


def shipment(row: Any) -> ShipmentRecord:
    """A shipment from a row of the part `shipments`."""
    _, code, entry_id, on, by, note, bars, customer, order_ref, destination, from_place = row
    return ShipmentRecord(
        on=on,
        by=by,
        note=note,
        bars=bars,
        customer=customer,
        order_ref=order_ref,
        destination=destination,
        from_place=from_place,
        entry_id=entry_id,
        lot_code=LotCode(code),
    )
