"""Following a lot both ways to any depth, and what a recall of it would reach.

The walk goes over what was entered as used: raw lot, rendered fat, batch, rebatched bars, shipment.
It takes five queries, a recall three more, however deep and wide it goes.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from sqlalchemy import Connection

from soapstock.codes.lot import LotCode
from soapstock.errors import NotFound
from soapstock.ledger.base.sql import many_records, part, query
from soapstock.ledger.facts import Held, ShipmentRecord
from soapstock.ledger.places import KINDS
from soapstock.ledger.read.batches import part_of, shipment
from soapstock.ledger.read.snapshot import Snapshot

CHUNK = 500

# `made`: the lot and all that was made from it; `source`: the lot and all that it was made from.
WALK = """
    WITH RECURSIVE made(id) AS (
        SELECT l.id FROM lot l WHERE l.code = :code AND LIVE(l.id)
        UNION SELECT u.entry_id FROM use_line u JOIN made ON u.lot_id = made.id
            WHERE LIVE(u.entry_id)),
    source(id) AS (
        SELECT l.id FROM lot l WHERE l.code = :code AND LIVE(l.id)
        UNION SELECT u.lot_id FROM use_line u JOIN source ON u.entry_id = source.id
            WHERE u.lot_id IS NOT NULL AND LIVE(u.entry_id))"""
LOTS = (
    "l.id l.code l.kind l.item e.happened_on r.supplier r.supplier_lot r.animal",
    """FROM lot l JOIN entry e ON e.id = l.id LEFT JOIN receipt r ON r.entry_id = l.id
    WHERE l.id IN (SELECT made.id FROM made UNION SELECT source.id FROM source)""",
)
LINKS = "u.lot_id u.entry_id u.line u.mass_mg u.bars e.happened_on"
AHEAD = """
    FROM use_line u JOIN entry e ON e.id = u.entry_id
    WHERE u.lot_id IN (SELECT made.id FROM made) AND LIVE(u.entry_id)"""
BACK = """
    FROM use_line u JOIN entry e ON e.id = u.entry_id
    WHERE u.entry_id IN (SELECT source.id FROM source) AND u.lot_id IS NOT NULL
        AND LIVE(u.entry_id)"""
SENT = "AND f.lot_id IN (SELECT made.id FROM made)"
# Bars given away, in the columns of shipments: what for stands where a destination would.
GIVEN = (
    "f.lot_id l.code f.entry_id e.happened_on e.by e.note f.quantity f.customer f.order_ref "
    "f.reason f.from_place",
    """FROM movement f JOIN entry e ON e.id = f.entry_id JOIN lot l ON l.id = f.lot_id
    WHERE f.to_place = 'given' AND LIVE(f.entry_id)
        AND f.lot_id IN (SELECT made.id FROM made) ORDER BY f.entry_id""",
)
# Bars that customers sent back; which order they were of may not be said.
RETURNED = (
    "l.code f.customer f.order_ref f.quantity",
    """FROM movement f JOIN lot l ON l.id = f.lot_id
    WHERE f.from_place = 'customer' AND LIVE(f.entry_id)
        AND f.lot_id IN (SELECT made.id FROM made) ORDER BY f.entry_id""",
)
UNMOULDED = """
    SELECT l.code, f.bars + f.rejects FROM unmould f JOIN lot l ON l.id = f.lot_id
    WHERE l.code IN :codes AND LIVE(f.entry_id) ORDER BY f.entry_id"""
HELD = """
    SELECT l.code, p.place, k.kind, sum(p.quantity) FROM posting p JOIN lot l ON l.id = p.lot_id
    JOIN place k ON k.name = p.place
    WHERE l.code IN :codes AND p.unit = 'bars' GROUP BY l.code, p.place, k.kind"""
OVERDRAWN = """
    SELECT l.code, sum(CASE WHEN m.to_place = 'customer' THEN -m.quantity ELSE m.quantity END)
    FROM movement m JOIN lot l ON l.id = m.lot_id
    WHERE l.code IN :codes AND m.customer <> '' AND m.to_place <> 'given' AND LIVE(m.entry_id)
    GROUP BY l.code, m.customer
    HAVING sum(CASE WHEN m.to_place = 'customer' THEN -m.quantity ELSE m.quantity END) > 0"""


@dataclass(frozen=True, slots=True, kw_only=True)
class FollowedLot:
    """A lot met on the way.

    Attributes:
        depth: generations from the lot asked for; 0 is that lot itself.
        origin: supplier or animal of an ingredient lot, empty for a batch.
    """

    lot_code: LotCode
    kind: str
    item: str
    opened_on: date
    depth: int
    origin: str = ""
    origin_lot: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Link:
    """Some of one lot went into another."""

    source: LotCode
    made: LotCode
    on: date
    mass_mg: int
    bars: int | None
    entry_id: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Followed:
    """What a lot came from and what it became.

    Attributes:
        back: lots it was made from, itself first, nearest first.
        forward: lots made from it, itself first, nearest first.
        links: uses between any of those lots.
        shipments: of every lot in `forward`.
        given: bars of them that were given away, each with what for as its destination.
    """

    lot_code: LotCode
    back: tuple[FollowedLot, ...]
    forward: tuple[FollowedLot, ...]
    links: tuple[Link, ...]
    shipments: tuple[ShipmentRecord, ...]
    given: tuple[ShipmentRecord, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class AffectedLot:
    """One lot a recall reaches: where its bars are and how many nobody can account for.

    Attributes:
        made: bars out of the mould, rejects included.
        held: bars by place, customers and waste included, by name.
        rebatched: bars that went into another pot.
        unaccounted: bars that counts found missing or in excess, or that a place or a customer has
            given more of than it had, which no entry of ours allows.
    """

    lot: FollowedLot
    made: int
    held: tuple[Held, ...]
    rebatched: int
    unaccounted: int

    @property
    def places(self) -> dict[str, int]:
        """Bars by the name of their place."""
        return {at.place: at.bars for at in self.held}

    @property
    def in_shop(self) -> bool:
        """Whether any of its bars are still here."""
        return any(KINDS[at.kind].holds for at in self.held)


@dataclass(frozen=True, slots=True, kw_only=True)
class Recall:
    """What a recall of a lot reaches.

    Attributes:
        shipments: what customers still have, and what was given away.
        accounted_percent: share of all bars made whose place is known, percent.
    """

    lot_code: LotCode
    affected: tuple[AffectedLot, ...]
    shipments: tuple[ShipmentRecord, ...]
    accounted_percent: float


class FollowReader(Snapshot):
    """Reads of where a lot came from and where it went."""

    def follow(self, code: str) -> Followed:
        """Walk from a lot both ways. Raises NotFound."""
        asked = {"code": code}
        lots = {row.id: row for row in self.db.execute(part(*LOTS, WALK), asked)}
        start = next((number for number, row in lots.items() if row.code == code), None)
        if start is None:
            raise NotFound(f"no lot {code}", hint="check the code")
        with many_records():
            ahead = self.db.execute(part(LINKS, AHEAD, WALK), asked).all()
            back = self.db.execute(part(LINKS, BACK, WALK), asked).all()
            sent = self.db.execute(part_of("shipments", SENT, WALK), asked)
            links = sorted({(row[1], row[2]): row for row in (*ahead, *back)}.items())
            return Followed(
                lot_code=LotCode(code),
                back=_in_order(lots, _depths(start, [(row[1], row[0]) for row in back])),
                forward=_in_order(lots, _depths(start, [(row[0], row[1]) for row in ahead])),
                links=tuple(_link(lots, row) for _, row in links),
                shipments=tuple(map(shipment, sent)),
                given=tuple(map(shipment, self.db.execute(part(*GIVEN, WALK), asked))),
            )

    def recall(self, code: str) -> Recall:
        """Everything made from a lot, where it is and who has it. Raises NotFound."""
        found = self.follow(code)
        batches = [lot for lot in found.forward if lot.kind == "batch"]
        back = self.db.execute(part(*RETURNED, WALK), {"code": code}).all()
        affected = _affected(self.db, batches)
        made = sum(lot.made for lot in affected)
        lost = sum(lot.unaccounted for lot in affected)
        share = 100.0 if not made else max(0.0, 100.0 * (made - lost) / made)
        return Recall(
            lot_code=LotCode(code),
            affected=tuple(affected),
            shipments=(*_still_out(found.shipments, back), *found.given),
            accounted_percent=share,
        )


def _still_out(
    sent: Sequence[ShipmentRecord], back: Sequence[tuple[str, str, str, int]]
) -> list[ShipmentRecord]:
    """What customers have of what was sent to them.

    What came back is taken off its order's shipments if it names one, else off the customer's,
    newest first.
    """
    left = {record.entry_id: record.bars for record in sent}
    for code, customer, order_ref, bars in back:
        theirs = [s for s in sent if (s.lot_code, s.customer) == (code, customer)]
        rest = bars
        for record in sorted(theirs, key=lambda s: (s.order_ref == order_ref, s.entry_id))[::-1]:
            part_of_it = min(rest, left[record.entry_id])
            left[record.entry_id] -= part_of_it
            rest -= part_of_it
    return [replace(s, bars=left[s.entry_id]) for s in sent if left[s.entry_id]]


def _depths(start: int, steps: list[tuple[int, int]]) -> dict[int, int]:
    """Generations from the start of every lot that steps (from, to) reach."""
    after: dict[int, list[int]] = defaultdict(list)
    for one, other in steps:
        after[one].append(other)
    depth, edge = {start: 0}, [start]
    while edge:
        reached = dict.fromkeys(lot for one in edge for lot in after[one])
        edge = [lot for lot in reached if lot not in depth]
        level = max(depth.values()) + 1
        depth |= dict.fromkeys(edge, level)
    return depth


def _in_order(lots: Mapping[int, Any], depth: Mapping[int, int]) -> tuple[FollowedLot, ...]:
    return tuple(
        _met(lots[lot], depth[lot]) for lot in sorted(depth, key=lambda lot: (depth[lot], lot))
    )


def _met(row: Any, depth: int) -> FollowedLot:
    _, code, kind, item, on, supplier, supplier_lot, animal = row
    origin = ", ".join(filter(None, (supplier, animal)))
    return FollowedLot(
        lot_code=LotCode(code),
        kind=kind,
        item=item,
        opened_on=on,
        depth=depth,
        origin=origin,
        origin_lot=supplier_lot or "",
    )


def _link(lots: Mapping[int, Any], row: Any) -> Link:
    source, made, _, mass_mg, bars, on = row
    return Link(
        source=LotCode(lots[source].code),
        made=LotCode(lots[made].code),
        on=on,
        mass_mg=mass_mg,
        bars=bars,
        entry_id=made,
    )


def _affected(db: Connection, batches: list[FollowedLot]) -> list[AffectedLot]:
    codes = [lot.lot_code for lot in batches]
    made: dict[str, int] = {}
    over: Counter[str] = Counter()
    held: dict[str, list[Held]] = {code: [] for code in codes}
    for some in _chunks(codes):
        made |= {row[0]: row[1] for row in db.execute(query(UNMOULDED), {"codes": some})}
        for code, place, kind, bars in db.execute(query(HELD), {"codes": some}):
            held[code].append(Held(place, kind, int(bars)))
        for code, bars in db.execute(query(OVERDRAWN), {"codes": some}):
            over[code] += int(bars)
    return [
        _affected_lot(
            lot, made.get(lot.lot_code, 0), held[lot.lot_code], overdrawn=over[lot.lot_code]
        )
        for lot in batches
    ]


def _affected_lot(lot: FollowedLot, made: int, held: list[Held], *, overdrawn: int) -> AffectedLot:
    book = {at.kind: at.bars for at in held if not KINDS[at.kind].real}
    overdrawn -= sum(min(0, at.bars) for at in held if not KINDS[at.kind].free)
    return AffectedLot(
        lot=lot,
        made=made,
        held=tuple(
            sorted((at for at in held if at.bars and KINDS[at.kind].real), key=lambda at: at.place)
        ),
        rebatched=book.get("pot", 0) + made,  # the pot gave `made` bars and took back the rest
        unaccounted=abs(book.get("count-difference", 0)) + overdrawn,
    )


def _chunks(items: Collection[Any]) -> list[list[Any]]:
    rows = list(items)
    return [rows[start : start + CHUNK] for start in range(0, len(rows), CHUNK)]
