"""The Reader: everything the other rooms ask of the ledger, from one snapshot."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, cast

from sqlalchemy import func, select

from soapstock.errors import NotFound, Problem
from soapstock.ledger.facts import (
    EntryRecord,
    LotKind,
    PlaceRecord,
    RecipeVersion,
    ShipmentRecord,
    StockLine,
)
from soapstock.ledger.models import ENTRY, LOT, MOVEMENT, PLACE, POSTING, RECIPE, USE
from soapstock.ledger.queries import UNDO, live, not_undone
from soapstock.ledger.read_batches import HIDDEN_PLACES, BatchReader, shipment

if TYPE_CHECKING:
    from soapstock.ledger.audit import Audit

__all__ = ["Reader"]


class Reader(BatchReader):
    """Everything that can be read; undone facts are left out unless history is asked for."""

    def recipes(self) -> list[RecipeVersion]:
        """The newest version of each recipe, by code."""
        newest = select(func.max(RECIPE.c.entry_id)).group_by(RECIPE.c.code)
        query = live(RECIPE).where(RECIPE.c.entry_id.in_(newest)).order_by(None)
        return [_recipe(row) for row in self.db.execute(query.order_by(RECIPE.c.code))]

    def recipe(self, code: str, version: int | None = None) -> RecipeVersion:
        """A recipe's newest or given version. Raises NotFound naming the recipes there are."""
        query = live(RECIPE).where(RECIPE.c.code == code).order_by(None)
        if version is not None:
            query = query.where(RECIPE.c.version == version)
        row = self.db.execute(query.order_by(RECIPE.c.version.desc()).limit(1)).first()
        if row is not None:
            return _recipe(row)
        codes = ", ".join(r.code for r in self.recipes()) or "none yet; add one with: recipe add"
        which = "" if version is None else f" version {version}"
        raise NotFound(f"no recipe {code}{which}", hint=f"recipes: {codes}")

    def lot_kind(self, code: str) -> LotKind | None:
        """What a lot code is, or None when there is no such lot."""
        query = select(LOT.c.kind).where(LOT.c.code == code, not_undone(LOT.c.id))
        return cast("LotKind | None", self.db.execute(query).scalar())

    def all_lot_codes(self) -> list[str]:
        """Every lot code in use, in order of code."""
        query = select(LOT.c.code).where(not_undone(LOT.c.id)).order_by(LOT.c.code)
        return list(self.db.execute(query).scalars())

    def entries(self, lot: str | None = None, limit: int | None = None) -> list[EntryRecord]:
        """History, oldest first, undone entries and their undos included.

        Args:
            lot: only entries about this lot, or that used it.
            limit: only the newest so many.
        """
        query = _entries()
        if lot is not None:
            ids = select(LOT.c.id).where(LOT.c.code == lot)
            using = select(USE.c.entry_id).where(USE.c.lot_id.in_(ids))
            query = query.where(ENTRY.c.lot_id.in_(ids) | ENTRY.c.id.in_(using))
        query = query.order_by(ENTRY.c.id.desc())
        if limit is not None:
            query = query.limit(limit)
        return [_entry(row) for row in self.db.execute(query)][::-1]

    def entry(self, entry_id: int) -> EntryRecord:
        """One entry. Raises NotFound."""
        row = self.db.execute(_entries().where(ENTRY.c.id == entry_id)).first()
        if row is None:
            raise NotFound(f"no entry {entry_id}", hint="list them: soapstock entries")
        return _entry(row)

    def head(self) -> tuple[int, str]:
        """Number and hash of the newest entry; (0, "") in an empty ledger."""
        query = select(ENTRY.c.id, ENTRY.c.hash).order_by(ENTRY.c.id.desc()).limit(1)
        row = self.db.execute(query).first()
        return (int(row.id), str(row.hash)) if row else (0, "")

    def stock(self, lot: str | None = None) -> list[StockLine]:
        """What lies where, by kind, item, lot and place; what is empty or outside left out."""
        held = (
            select(POSTING.c.lot_id, POSTING.c.unit, POSTING.c.place,
                   func.sum(POSTING.c.quantity).label("held"))
            .where(POSTING.c.place.not_in((*HIDDEN_PLACES, "customer", "waste")))
            .group_by(POSTING.c.lot_id, POSTING.c.unit, POSTING.c.place)
            .having(func.sum(POSTING.c.quantity) != 0)
        )  # fmt: skip
        lots = select(LOT)
        if lot is not None:
            lots = lots.where(LOT.c.code == lot)
            held = held.where(
                POSTING.c.lot_id.in_(select(LOT.c.id).where(LOT.c.code == lot))
            )  # fmt: skip
        named = {row.id: row for row in self.db.execute(lots)}
        lines = [
            StockLine(
                lot_code=named[lot_id].code, kind=named[lot_id].kind, item=named[lot_id].item,
                place=place, unit=unit, quantity=int(quantity),
            )
            for lot_id, unit, place, quantity in self.db.execute(held)
        ]  # fmt: skip
        return sorted(lines, key=lambda s: (s.kind, s.item, s.lot_code, s.place, s.unit))

    def places(self) -> list[PlaceRecord]:
        """Every place, built-in and added, by name."""
        query = select(PLACE.c.name, PLACE.c.kind, PLACE.c.capacity_bars).order_by(PLACE.c.name)
        return [
            PlaceRecord(name=name, kind=kind, capacity_bars=capacity)
            for name, kind, capacity in self.db.execute(query)
        ]

    def uses_of(self, ingredient_lot: str) -> list[str]:
        """Lot codes made directly from a lot: batches, and fat rendered from it."""
        made = LOT.alias("made")
        source = select(LOT.c.id).where(LOT.c.code == ingredient_lot, not_undone(LOT.c.id))
        query = (
            select(made.c.code, made.c.id)
            .join(USE, USE.c.entry_id == made.c.id)
            .where(USE.c.lot_id.in_(source), not_undone(made.c.id))
            .distinct()
            .order_by(made.c.id)
        )
        return [row.code for row in self.db.execute(query)]

    def customers_of(self, lot: str) -> list[ShipmentRecord]:
        """Shipments of a batch, oldest first."""
        ids = select(LOT.c.id).where(LOT.c.code == lot, not_undone(LOT.c.id))
        query = live(MOVEMENT, LOT.c.code).join(LOT, LOT.c.id == MOVEMENT.c.lot_id)
        query = query.where(MOVEMENT.c.lot_id.in_(ids), MOVEMENT.c.to_place == "customer")
        return [shipment(row, row.code) for row in self.db.execute(query)]

    def shipments(self, order_ref: str | None = None) -> list[ShipmentRecord]:
        """Every shipment not undone, oldest first; or those of one order."""
        query = live(MOVEMENT, LOT.c.code).join(LOT, LOT.c.id == MOVEMENT.c.lot_id)
        query = query.where(MOVEMENT.c.to_place == "customer")
        if order_ref is not None:
            query = query.where(MOVEMENT.c.order_ref == order_ref)
        return [shipment(row, row.code) for row in self.db.execute(query)]

    def audit(self) -> Audit:
        """Check everything there is to check; every finding."""
        from soapstock.ledger.audit import audit  # noqa: PLC0415 (rarely asked)

        return audit(self.db)

    def check_balance(self) -> list[Problem]:
        """Findings where an entry does not sum to zero or a place holds less than nothing."""
        from soapstock.ledger.audit import check_balance  # noqa: PLC0415 (rarely asked)

        return check_balance(self.db)


def _entries() -> Any:
    return (
        select(ENTRY, UNDO.c.id.label("undone_by"), LOT.c.code)
        .outerjoin(UNDO, UNDO.c.undoes == ENTRY.c.id)
        .outerjoin(LOT, LOT.c.id == ENTRY.c.lot_id)
    )


def _entry(row: Any) -> EntryRecord:
    return EntryRecord(
        id=row.id, kind=row.kind, happened_on=row.happened_on, entered_at=row.entered_at,
        by=row.by, note=row.note, undone_by=row.undone_by, undoes=row.undoes, summary=row.summary,
        lot_code=row.code,
    )  # fmt: skip


def _recipe(row: Any) -> RecipeVersion:
    return RecipeVersion(
        code=row.code, version=row.version, text=row.text, sha256=row.sha256,
        added_on=row.happened_on, entry_id=row.entry_id,
    )  # fmt: skip
