"""Tracing a lot both ways to any depth, and what a recall of it would reach.

The walk goes over what was entered as used: raw lot, rendered fat, batch, rebatched bars, shipment.
It takes two queries a generation, however many lots a generation has.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date
from functools import cache
from typing import Any

from sqlalchemy import Connection, bindparam, func, select

from soapstock.errors import NotFound
from soapstock.ledger.facts import ShipmentRecord
from soapstock.ledger.models import ENTRY, LOT, MOVEMENT, POSTING, RECEIPT, UNMOULD, USE
from soapstock.ledger.queries import live, not_undone
from soapstock.ledger.read_batches import shipment

CHUNK = 500
PLACES_OUTSIDE = ("supplier", "pot", "mould", "count-difference")


@dataclass(frozen=True, slots=True, kw_only=True)
class TracedLot:
    """A lot met on the way.

    Attributes:
        depth: generations from the lot asked for; 0 is that lot itself.
        origin: supplier or animal of an ingredient lot, empty for a batch.
    """

    lot_code: str
    kind: str
    item: str
    opened_on: date
    depth: int
    origin: str = ""
    origin_lot: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Link:
    """Some of one lot went into another."""

    source: str
    made: str
    on: date
    mass_mg: int
    bars: int | None
    entry_id: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Trace:
    """What a lot came from and what it became.

    Attributes:
        back: lots it was made from, itself first, nearest first.
        forward: lots made from it, itself first, nearest first.
        links: uses between any of those lots.
        shipments: of every lot in `forward`.
    """

    lot_code: str
    back: tuple[TracedLot, ...]
    forward: tuple[TracedLot, ...]
    links: tuple[Link, ...]
    shipments: tuple[ShipmentRecord, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class AffectedLot:
    """One lot a recall reaches: where its bars are and how many nobody can account for.

    Attributes:
        made: bars out of the mould, rejects included.
        places: bars by place, customers and waste included.
        rebatched: bars that went into another pot.
        unaccounted: bars that counts found missing or in excess.
    """

    lot: TracedLot
    made: int
    places: Mapping[str, int]
    rebatched: int
    unaccounted: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Recall:
    """What a recall of a lot reaches.

    Attributes:
        accounted_percent: share of all bars made whose place is known, percent.
    """

    lot_code: str
    affected: tuple[AffectedLot, ...]
    shipments: tuple[ShipmentRecord, ...]
    accounted_percent: float


def trace(db: Connection, code: str) -> Trace:
    """Walk from a lot both ways. Raises NotFound."""
    start = db.execute(select(LOT.c.id).where(LOT.c.code == code, not_undone(LOT.c.id))).scalar()
    if start is None:
        raise NotFound(f"no lot {code}", hint="check the code")
    back, links_back = _walk(db, start, forward=False)
    ahead, links_ahead = _walk(db, start, forward=True)
    named = _lots(db, {**back, **ahead})
    links = {
        (r.entry_id, r.line): Link(
            source=named[r.lot_id].lot_code, made=named[r.made_id].lot_code, on=r.happened_on,
            mass_mg=r.mass_mg, bars=r.bars, entry_id=r.entry_id,
        )
        for r in [*links_back, *links_ahead]
    }  # fmt: skip
    return Trace(
        lot_code=code,
        back=_in_order(named, back),
        forward=_in_order(named, ahead),
        links=tuple(links[key] for key in sorted(links)),
        shipments=tuple(_shipments(db, ahead)),
    )


def recall(db: Connection, code: str) -> Recall:
    """Everything made from a lot, where it is and who has it. Raises NotFound."""
    found = trace(db, code)
    batches = [lot for lot in found.forward if lot.kind == "batch"]
    affected = _affected(db, batches)
    made = sum(lot.made for lot in affected)
    lost = sum(lot.unaccounted for lot in affected)
    share = 100.0 if not made else max(0.0, 100.0 * (made - lost) / made)
    return Recall(
        lot_code=code, affected=tuple(affected), shipments=found.shipments,
        accounted_percent=share,
    )  # fmt: skip


def _walk(db: Connection, start: int, *, forward: bool) -> tuple[dict[int, int], list[Any]]:
    depth, links, edge = {start: 0}, [], [start]
    level = 0
    while edge:
        level += 1
        rows = list(_links(db, edge, forward=forward))
        links += rows
        edge = []
        for row in rows:
            reached = row.made_id if forward else row.lot_id
            if reached not in depth:
                depth[reached] = level
                edge.append(reached)
    return depth, links


@cache
def _query(name: str) -> Any:
    """A query of the walk, by parameter `ids`; built once, as building costs a millisecond."""
    ids: Any = bindparam("ids", expanding=True)
    if name in {"forward", "back"}:
        key = USE.c.lot_id if name == "forward" else USE.c.entry_id
        return (
            select(USE, USE.c.entry_id.label("made_id"), ENTRY.c.happened_on)
            .join(ENTRY, ENTRY.c.id == USE.c.entry_id)
            .where(key.in_(ids), USE.c.lot_id.is_not(None), not_undone(USE.c.entry_id))
        )
    if name == "lots":
        return (
            select(LOT, ENTRY.c.happened_on, RECEIPT.c.supplier, RECEIPT.c.supplier_lot,
                   RECEIPT.c.animal)
            .join(ENTRY, ENTRY.c.id == LOT.c.id)
            .outerjoin(RECEIPT, RECEIPT.c.entry_id == LOT.c.id)
            .where(LOT.c.id.in_(ids))
        )  # fmt: skip
    sent = live(MOVEMENT, LOT.c.code).join(LOT, LOT.c.id == MOVEMENT.c.lot_id)
    return sent.where(MOVEMENT.c.lot_id.in_(ids), MOVEMENT.c.to_place == "customer")


def _links(db: Connection, lots: list[int], *, forward: bool) -> list[Any]:
    rows: list[Any] = []
    for ids in _chunks(lots):
        rows += db.execute(_query("forward" if forward else "back"), {"ids": ids}).all()
    return rows


def _lots(db: Connection, depth: Mapping[int, int]) -> dict[int, TracedLot]:
    named: dict[int, TracedLot] = {}
    for ids in _chunks(depth):
        for row in db.execute(_query("lots"), {"ids": ids}):
            animal = f"animal {row.animal}" if row.animal else ""
            named[row.id] = TracedLot(
                lot_code=row.code, kind=row.kind, item=row.item, opened_on=row.happened_on,
                depth=depth[row.id], origin=", ".join(filter(None, (row.supplier, animal))),
                origin_lot=row.supplier_lot or "",
            )  # fmt: skip
    return named


def _in_order(named: Mapping[int, TracedLot], depth: Mapping[int, int]) -> tuple[TracedLot, ...]:
    return tuple(named[lot] for lot in sorted(depth, key=lambda lot: (depth[lot], lot)))


def _shipments(db: Connection, depth: Mapping[int, int]) -> list[ShipmentRecord]:
    rows: list[Any] = []
    for ids in _chunks(depth):
        rows += db.execute(_query("sent"), {"ids": ids}).all()
    return [shipment(row, row.code) for row in sorted(rows, key=lambda row: int(row.entry_id))]


def _affected(db: Connection, batches: list[TracedLot]) -> list[AffectedLot]:
    codes = [lot.lot_code for lot in batches]
    made: dict[str, int] = {}
    held: dict[str, dict[str, int]] = {code: {} for code in codes}
    for part in _chunks(codes):
        out = live(UNMOULD, LOT.c.code).join(LOT, LOT.c.id == UNMOULD.c.lot_id)
        for row in db.execute(out.where(LOT.c.code.in_(part))):
            made[row.code] = row.bars + row.rejects
        query = (
            select(LOT.c.code, POSTING.c.place, func.sum(POSTING.c.quantity))
            .join(LOT, LOT.c.id == POSTING.c.lot_id)
            .where(LOT.c.code.in_(part), POSTING.c.unit == "bars")
            .group_by(LOT.c.code, POSTING.c.place)
        )
        for code, place, quantity in db.execute(query):
            held[code][place] = int(quantity)
    return [_affected_lot(lot, made.get(lot.lot_code, 0), held[lot.lot_code]) for lot in batches]


def _affected_lot(lot: TracedLot, made: int, held: Mapping[str, int]) -> AffectedLot:
    return AffectedLot(
        lot=lot,
        made=made,
        places={p: n for p, n in sorted(held.items()) if n and p not in PLACES_OUTSIDE},
        rebatched=held.get("pot", 0) + made,  # the pot gave `made` bars and took back the rest
        unaccounted=abs(held.get("count-difference", 0)),
    )


def _chunks(items: Collection[Any]) -> list[list[Any]]:
    rows = list(items)
    return [rows[start : start + CHUNK] for start in range(0, len(rows), CHUNK)]
