"""Reading orders, reservations, label runs and reorder levels."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from sqlalchemy import Connection

from soapstock.codes.lot import LotCode
from soapstock.errors import NotFound
from soapstock.ledger.base.sql import query
from soapstock.ledger.facts import (
    OldPageFacts,
    OldPageRecord,
    OrderLineFacts,
    RecallNotice,
    Want,
    columns_of,
)
from soapstock.ledger.read.snapshot import Snapshot

ORDERS = """
    SELECT o.*, e.happened_on, e.note FROM customer_order o JOIN entry e ON e.id = o.entry_id
    WHERE LIVE(o.entry_id) ORDER BY o.entry_id"""
LINES = "SELECT x.* FROM order_line x ORDER BY x.entry_id, x.line"
CLOSED = """
    SELECT c.order_id, c.outcome, c.reason FROM order_close c
    WHERE LIVE(c.entry_id) ORDER BY c.entry_id"""
KEPT = """
    SELECT r.order_id, l.code, sum(r.bars) AS bars FROM reservation r JOIN lot l ON l.id = r.lot_id
    WHERE LIVE(r.entry_id) GROUP BY r.order_id, l.code"""
SENT = """
    SELECT m.order_ref, l.code, sum(m.quantity) AS bars
    FROM movement m JOIN lot l ON l.id = m.lot_id
    WHERE m.to_place = 'customer' AND m.order_ref <> '' AND LIVE(m.entry_id)
    GROUP BY m.order_ref, l.code"""
SENDING = """
    SELECT m.entry_id FROM movement m
    WHERE m.to_place = 'customer' AND m.order_ref = :ref AND LIVE(m.entry_id)
    UNION SELECT c.entry_id FROM order_close c WHERE c.order_id = :order AND LIVE(c.entry_id)"""
LABELS = """
    SELECT l.code, sum(r.printed), sum(r.spoiled), sum(r.used)
    FROM label_run r JOIN lot l ON l.id = r.lot_id
    WHERE LIVE(r.entry_id) GROUP BY l.code ORDER BY l.code"""
OLD_PAGE = tuple(columns_of(OldPageFacts))
OLD_PAGES = "SELECT o.* FROM old_page o WHERE LIVE(o.entry_id) ORDER BY o.entry_id, o.line"
WANTS = """
    SELECT w.customer, w.recipe_code, w.bars, w.contact FROM want w
    WHERE LIVE(w.entry_id) ORDER BY w.entry_id"""
RECALLS = """
    SELECT l.code, e.happened_on, r.hazard, r.remedy, r.entry_id
    FROM recall_run r JOIN lot l ON l.id = r.lot_id JOIN entry e ON e.id = r.entry_id
    WHERE r.practice = :practice AND LIVE(r.entry_id) ORDER BY r.entry_id"""
LEVELS = """
    SELECT r.item, r.unit, r.level FROM reorder_level r
    WHERE LIVE(r.entry_id) ORDER BY r.entry_id"""


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderRecord:
    """An order and what became of it.

    Attributes:
        reserved: bars still kept for it, by lot; nothing once it is closed.
        shipped: bars sent under its reference, by lot.
        outcome: empty while it is open.
    """

    order_ref: str
    customer: str
    contact: str
    destination: str
    ship_to: str
    taken_on: date
    wanted_on: date | None
    lines: tuple[OrderLineFacts, ...]
    reserved: Mapping[LotCode, int]
    shipped: Mapping[LotCode, int]
    outcome: str
    outcome_reason: str
    note: str
    entry_id: int

    @property
    def bars(self) -> int:
        """Bars ordered."""
        return sum(line.bars for line in self.lines)


@dataclass(frozen=True, slots=True, kw_only=True)
class LabelCount:
    """Labels of a lot over all runs; `left` ones are neither spoiled nor on a bar."""

    lot_code: LotCode
    printed: int
    spoiled: int
    used: int

    @property
    def left(self) -> int:
        """Labels that should still lie about."""
        return self.printed - self.spoiled - self.used


class TradeReader(Snapshot):
    """Reads of orders, labels and reorder levels."""

    def orders(self, *, open_only: bool = False) -> list[OrderRecord]:
        """Orders, the one wanted soonest first; those without a day last. Five queries."""
        lines = _grouped(self.db, LINES, "entry_id")
        closed = {row.order_id: row for row in self.db.execute(query(CLOSED))}
        kept = _grouped(self.db, KEPT, "order_id")
        sent = _grouped(self.db, SENT, "order_ref")
        found = [
            _order(
                row,
                lines[row.entry_id],
                closed.get(row.entry_id),
                kept[row.entry_id],
                sent[row.order_ref],
            )
            for row in self.db.execute(query(ORDERS))
            if not (open_only and row.entry_id in closed)
        ]
        return sorted(found, key=lambda o: (o.wanted_on or date.max, o.entry_id))

    def order(self, order_ref: str) -> OrderRecord:
        """One order. Raises NotFound naming the open ones."""
        every = self.orders()
        for found in every:
            if found.order_ref == order_ref:
                return found
        refs = ", ".join(o.order_ref for o in every if not o.outcome) or "none"
        raise NotFound(f"no order {order_ref}", hint=f"open orders: {refs}")

    def sending_entries(self, order_id: int, order_ref: str) -> list[int]:
        """Entries by which bars of an order were sent, and that which closed it."""
        given = {"ref": order_ref, "order": order_id}
        return sorted(self.db.execute(query(SENDING), given).scalars())

    def reserved_by_lot(self) -> dict[LotCode, int]:
        """Bars of each lot kept for open orders."""
        total: dict[LotCode, int] = defaultdict(int)
        for found in self.orders(open_only=True):
            for code, bars in found.reserved.items():
                total[code] += bars
        return dict(total)

    def label_counts(self) -> list[LabelCount]:
        """Labels of each lot that has any, by lot code."""
        return [
            LabelCount(
                lot_code=LotCode(code), printed=int(printed), spoiled=int(spoiled), used=int(used)
            )
            for code, printed, spoiled, used in self.db.execute(query(LABELS))
        ]

    def old_pages(self) -> list[OldPageRecord]:
        """Pages of old notes that were taken in and not taken back, in their order."""
        rows = self.db.execute(query(OLD_PAGES)).mappings()
        return [
            OldPageRecord(
                entry_id=row["entry_id"], facts=OldPageFacts(**{n: row[n] for n in OLD_PAGE})
            )
            for row in rows
        ]

    def old_pages_known(self) -> set[str]:
        """What tells the pages apart that were taken in."""
        sql = "SELECT o.said_sha256 FROM old_page o WHERE LIVE(o.entry_id)"
        return set(self.db.execute(query(sql)).scalars())

    def wants(self) -> list[Want]:
        """The waiting list, who came first at the top; the newest word of each stands."""
        found: dict[tuple[str, str], Want] = {}
        for row in self.db.execute(query(WANTS)):
            key = (row.customer, row.recipe_code)
            if not row.bars:
                found.pop(key, None)
            else:
                found[key] = Want(**row._mapping)
        return list(found.values())

    def recalls(self) -> list[RecallNotice]:
        """The recalls in earnest, oldest first."""
        found = self.db.execute(query(RECALLS), {"practice": False})
        return [
            RecallNotice(
                lot_code=LotCode(row.code),
                on=row.happened_on,
                hazard=row.hazard,
                remedy=row.remedy,
                entry_id=row.entry_id,
            )
            for row in found
        ]

    def reorder_levels(self) -> dict[tuple[str, str], int]:
        """The level under which more is called for, by item and unit; the newest word stands."""
        levels = {(row.item, row.unit): int(row.level) for row in self.db.execute(query(LEVELS))}
        return {key: level for key, level in levels.items() if level}


def _grouped(db: Connection, sql: str, key: str) -> dict[Any, list[Any]]:
    groups: dict[Any, list[Any]] = defaultdict(list)
    for row in db.execute(query(sql)):
        groups[getattr(row, key)].append(row)
    return groups


def _order(
    row: Any, lines: list[Any], closed: Any, kept: list[Any], sent: list[Any]
) -> OrderRecord:
    shipped = {LotCode(r.code): int(r.bars) for r in sent}
    reserved = {LotCode(r.code): int(r.bars) - shipped.get(r.code, 0) for r in kept}
    return OrderRecord(
        order_ref=row.order_ref,
        customer=row.customer,
        contact=row.contact,
        destination=row.destination,
        ship_to=row.ship_to,
        taken_on=row.happened_on,
        wanted_on=row.wanted_on,
        lines=tuple(
            OrderLineFacts(
                recipe_code=x.recipe_code,
                bars=x.bars,
                price_cents=x.price_cents,
                currency=x.currency,
            )
            for x in lines
        ),
        reserved={} if closed else {code: n for code, n in sorted(reserved.items()) if n > 0},
        shipped=dict(sorted(shipped.items())),
        outcome=closed.outcome if closed else "",
        outcome_reason=closed.reason if closed else "",
        note=row.note,
        entry_id=row.entry_id,
    )
