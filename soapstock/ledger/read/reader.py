"""The Reader: everything the other rooms ask of the ledger, from one snapshot."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, cast

from soapstock.codes.lot import LotCode
from soapstock.errors import Mend, NotFound
from soapstock.ledger.base.client_keys import already_entered, entry_of_key
from soapstock.ledger.base.sql import query
from soapstock.ledger.facts import (
    MOVED,
    EntryRecord,
    LotKind,
    PlaceRecord,
    RecipeVersion,
    ShipmentRecord,
    StockLine,
)
from soapstock.ledger.read.as_of import PastReader
from soapstock.ledger.read.batches import BatchReader, part_of, shipment
from soapstock.ledger.read.follow import FollowReader
from soapstock.ledger.read.money import MoneyReader
from soapstock.ledger.read.photos import PhotoReader
from soapstock.ledger.read.trade import TradeReader

__all__ = ["Reader"]

RECIPES = """
    SELECT r.code, r.version, r.text, r.sha256, r.entry_id, e.happened_on
    FROM recipe_version r JOIN entry e ON e.id = r.entry_id WHERE LIVE(r.entry_id)"""
RETIRED = """
    SELECT t.recipe_code, t.retired, t.reason FROM retirement t
    WHERE LIVE(t.entry_id) ORDER BY t.entry_id"""
ENTRIES = """
    SELECT e.*, u.id AS undone_by, l.code FROM entry e
    LEFT JOIN entry u ON u.undoes = e.id LEFT JOIN lot l ON l.id = e.lot_id"""
OF_LOT = """
    WHERE e.lot_id IN (SELECT x.id FROM lot x WHERE x.code = :lot)
        OR e.id IN (SELECT y.entry_id FROM use_line y WHERE y.lot_id IN (
            SELECT x.id FROM lot x WHERE x.code = :lot))"""
TOUCHED = """
    SELECT DISTINCT l.code FROM lot l WHERE l.id IN (
        SELECT e.lot_id FROM entry e WHERE e.id > :entry
        UNION SELECT p.lot_id FROM posting p WHERE p.entry_id > :entry
        UNION SELECT x.lot_id FROM entry e JOIN entry x ON x.id = e.undoes WHERE e.id > :entry
        UNION SELECT p.lot_id FROM entry e JOIN posting p ON p.entry_id = e.undoes
            WHERE e.id > :entry)"""
STOCK = """
    SELECT l.code, l.kind, l.item, p.place, k.kind AS place_kind, p.unit, p.held FROM (
        SELECT q.lot_id, q.unit, q.place, sum(q.quantity) AS held FROM posting q
        WHERE AT(q.place, holds open) CHOSEN
        GROUP BY q.lot_id, q.unit, q.place HAVING sum(q.quantity) <> 0
    ) p JOIN lot l ON l.id = p.lot_id JOIN place k ON k.name = p.place"""


class Reader(BatchReader, TradeReader, MoneyReader, PhotoReader, FollowReader, PastReader):
    """Everything that can be read; undone facts are left out unless history is asked for."""

    def recipes(self) -> list[RecipeVersion]:
        """The newest version of each recipe, by code."""
        newest = "AND r.entry_id IN (SELECT max(x.entry_id) FROM recipe_version x GROUP BY x.code)"
        found = self.db.execute(query(f"{RECIPES} {newest} ORDER BY r.code"))
        why = self._retired()
        return [_recipe(row, why) for row in found]

    def recipe_versions(self) -> list[RecipeVersion]:
        """Every version of every recipe, as they were added."""
        why = self._retired()
        return [
            _recipe(row, why) for row in self.db.execute(query(f"{RECIPES} ORDER BY r.entry_id"))
        ]

    def _retired(self) -> dict[str, str]:
        """Why a recipe is retired, by code; the newest word of each stands."""
        said = {row.recipe_code: row for row in self.db.execute(query(RETIRED))}
        return {code: row.reason for code, row in said.items() if row.retired}

    def recipe(self, code: str, version: int | None = None) -> RecipeVersion:
        """A recipe's newest or given version. Raises NotFound naming the recipes there are."""
        of_code = f"{RECIPES} AND r.code = :code"
        if version is not None:
            of_code += " AND r.version = :version"
        newest = query(f"{of_code} ORDER BY r.version DESC LIMIT 1")
        wanted = {"code": code} | ({} if version is None else {"version": version})
        row = self.db.execute(newest, wanted).first()
        if row is not None:
            return _recipe(row, self._retired())
        codes = ", ".join(r.code for r in self.recipes()) or "none yet; add one with: recipe add"
        which = "" if version is None else f" version {version}"
        raise NotFound(f"no recipe {code}{which}", hint=f"recipes: {codes}")

    def lot_kind(self, code: str) -> LotKind | None:
        """What a lot code is, or None when there is no such lot."""
        sql = "SELECT l.kind FROM lot l WHERE l.code = :code AND LIVE(l.id)"
        return cast("LotKind | None", self.db.execute(query(sql), {"code": code}).scalar())

    def all_lot_codes(self) -> list[LotCode]:
        """Every lot code in use, in order of code."""
        sql = "SELECT l.code FROM lot l WHERE LIVE(l.id) ORDER BY l.code"
        return list(map(LotCode, self.db.execute(query(sql)).scalars()))

    def batch_codes(self, most: int | None = None) -> list[LotCode]:
        """Lot codes of the batches, those entered last first; only so many when told."""
        sql = """
            SELECT l.code FROM lot l WHERE l.kind = 'batch' AND LIVE(l.id)
            ORDER BY l.id DESC"""
        if most is None:
            return list(map(LotCode, self.db.execute(query(sql)).scalars()))
        return list(
            map(LotCode, self.db.execute(query(f"{sql} LIMIT :most"), {"most": most}).scalars())
        )

    def entries(self, lot: str | None = None, limit: int | None = None) -> list[EntryRecord]:
        """History, oldest first, undone entries and their undos included.

        Args:
            lot: only entries about this lot, or that used it.
            limit: only the newest so many.
        """
        sql, given = ENTRIES, dict[str, object]()
        if lot is not None:
            sql, given = sql + OF_LOT, {"lot": lot}
        sql += " ORDER BY e.id DESC"
        if limit is not None:
            sql, given = f"{sql} LIMIT :most", given | {"most": limit}
        return [_entry(row) for row in self.db.execute(query(sql), given)][::-1]

    def entry(self, entry_id: int) -> EntryRecord:
        """One entry. Raises NotFound."""
        found = self.db.execute(query(f"{ENTRIES} WHERE e.id = :id"), {"id": entry_id})
        row = found.first()
        if row is None:
            raise NotFound(f"no entry {entry_id}", mend=Mend("list_entries"))
        return _entry(row)

    def head(self) -> tuple[int, str]:
        """Number and hash of the newest entry; (0, "") in an empty ledger."""
        sql = "SELECT e.id, e.hash FROM entry e ORDER BY e.id DESC LIMIT 1"
        row = self.db.execute(query(sql)).first()
        return (int(row.id), str(row.hash)) if row else (0, "")

    def moved(self) -> str | None:
        """Where this ledger went, as `moved to ...`, when it takes no entries any more."""
        sql = """
            SELECT e.summary FROM entry e
            WHERE e.id = (SELECT max(x.id) FROM entry x) AND e.kind = :moved"""
        return cast("str | None", self.db.execute(query(sql), {"moved": MOVED}).scalar())

    def stock(self, lot: str | None = None) -> list[StockLine]:
        """What lies where, by kind, item, lot and place; what is empty or outside left out."""
        chosen = (
            "" if lot is None else "AND q.lot_id IN (SELECT x.id FROM lot x WHERE x.code = :lot)"
        )
        given = {} if lot is None else {"lot": lot}
        lines = [
            StockLine(
                lot_code=LotCode(code),
                kind=kind,
                item=item,
                place=place,
                place_kind=at,
                unit=unit,
                quantity=int(held),
            )
            for code, kind, item, place, at, unit, held in self.db.execute(
                query(STOCK.replace("CHOSEN", chosen)), given
            )
        ]
        return sorted(lines, key=lambda s: (s.kind, s.item, s.lot_code, s.place, s.unit))

    def places(self) -> list[PlaceRecord]:
        """Every place, built-in and added, by name."""
        sql = "SELECT p.name, p.kind, p.capacity_bars FROM place p ORDER BY p.name"
        return [
            PlaceRecord(name=name, kind=kind, capacity_bars=capacity)
            for name, kind, capacity in self.db.execute(query(sql))
        ]

    def shipments(self, order_ref: str | None = None) -> list[ShipmentRecord]:
        """Every shipment not undone, oldest first; or those of one order."""
        if order_ref is None:
            return self._shipments("")
        return self._shipments("AND f.order_ref = :value", order_ref)

    def _shipments(self, chosen: str, value: str | None = None) -> list[ShipmentRecord]:
        given = {} if value is None else {"value": value}
        return [shipment(row) for row in self.db.execute(part_of("shipments", chosen), given)]

    def codes_ever_used(self) -> list[LotCode]:
        """Every lot code that ever stood in the ledger, undone ones too: none is given twice."""
        return list(map(LotCode, self.db.execute(query("SELECT l.code FROM lot l")).scalars()))

    def touched_since(self, entry_id: int) -> set[LotCode]:
        """The lots that entries after that one are about, moved, or undid something of."""
        return {
            LotCode(code) for code in self.db.execute(query(TOUCHED), {"entry": entry_id}).scalars()
        }

    def hash_of(self, entry_id: int) -> str | None:
        """The hash of an entry, or None; what a maker compares with a note on paper."""
        sql = query("SELECT e.hash FROM entry e WHERE e.id = :id")
        return cast("str | None", self.db.execute(sql, {"id": entry_id}).scalar())

    def refuse_again(self, key: str, said: str) -> None:
        """Refuse what came under a client key before.

        Raises:
            AlreadyEntered: the same came under that key.
            RuleBroken: the key was used for something else.
        """
        seen = entry_of_key(self.db, key, said)
        if seen is not None:
            raise already_entered(self.db, seen)


def _entry(row: Any) -> EntryRecord:
    return EntryRecord(
        id=row.id,
        kind=row.kind,
        happened_on=row.happened_on,
        entered_at=row.entered_at,
        by=row.by,
        note=row.note,
        undone_by=row.undone_by,
        undoes=row.undoes,
        summary=row.summary,
        lot_code=None if row.code is None else LotCode(row.code),
    )


def _recipe(row: Any, retired: Mapping[str, str]) -> RecipeVersion:
    return RecipeVersion(
        code=row.code,
        version=row.version,
        text=row.text,
        sha256=row.sha256,
        added_on=row.happened_on,
        entry_id=row.entry_id,
        retired=retired.get(row.code, ""),
    )
