"""Reviewing a ledger: objects, balance, chain, stock, order of facts; every finding there is."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass

from sqlalchemy import Connection, RowMapping, Table, case, func, select
from sqlalchemy.exc import DBAPIError

from soapstock.errors import Problem
from soapstock.ledger.base.chain import FIRST_HASH, entry_hash
from soapstock.ledger.base.tables import (
    ENTRY,
    LOT,
    MOVEMENT,
    PLACE,
    POSTING,
    entry_column,
    fact_tables_in,
    not_undone,
)
from soapstock.ledger.keep.audit_facts import check_facts
from soapstock.ledger.keep.audit_objects import check_cells, check_objects, unreadable_texts
from soapstock.ledger.places import kinds_that
from soapstock.ledger.read.reader import Reader
from soapstock.units import quantity_words


@dataclass(frozen=True, slots=True, kw_only=True)
class Audit:
    """What an audit looked at and found.

    Attributes:
        entries: how many entries there are.
        head_hash: hash of the newest one; noted on paper it proves the ledger later.
        problems: every finding.
    """

    entries: int
    head_hash: str
    problems: tuple[Problem, ...]


def audit(reader: Reader) -> Audit:
    """Check the database's own objects, the file, the balance, the chain, the stock, the facts."""
    found = check_objects(reader.db)
    entries, head_hash, problems = check_rows(reader)
    return Audit(entries=entries, head_hash=head_hash, problems=(*found, *problems))


def check_rows(reader: Reader) -> tuple[int, str, list[Problem]]:
    """Check all that stands in the tables; number and hash of the newest entry, every finding."""
    problems: list[Problem] = []
    for check in (check_cells, check_file, check_balance, check_chain, check_facts):
        problems += guarded(reader.db, check)
    try:
        with reader.db.begin_nested():
            entries, head_hash = reader.head()
    except (*_UNREADABLE, DBAPIError):
        entries, head_hash = 0, ""
    return entries, head_hash, problems


_UNREADABLE = (ValueError, TypeError, AttributeError, ArithmeticError, LookupError)


def guarded(db: Connection, check: Callable[[Connection], list[Problem]]) -> list[Problem]:
    """The findings of a check; that it could not read what is there is one as well."""
    try:
        with db.begin_nested():
            return check(db)
    except (*_UNREADABLE, DBAPIError) as error:
        told = str(getattr(error, "orig", error)).splitlines()[0]
        if isinstance(error, DBAPIError) and ("locked" in told or "disk I/O" in told):
            raise
        where, said = "ledger", f"what is there cannot be read through ({told})"
        unread = Problem(where=where, message=said, rule="unreadable", severity="error")
    with suppress(DBAPIError), db.begin_nested():
        return [unread, *unreadable_texts(db)]
    return [unread]


def check_file(db: Connection) -> list[Problem]:
    """SQLite's own checks of its file and foreign keys; nothing on a server."""
    if db.dialect.name != "sqlite":
        return []
    said = [str(row[0]) for row in db.exec_driver_sql("PRAGMA integrity_check")]
    lost = [
        f"{row[0]} row {row[1]} names no {row[2]}"
        for row in db.exec_driver_sql("PRAGMA foreign_key_check")
    ]
    return [
        Problem(where="ledger file", message=text, rule="file", severity="error")
        for text in [*said, *lost]
        if text != "ok"
    ]


def check_balance(db: Connection) -> list[Problem]:
    """Findings where an entry does not sum to zero per lot and unit, or a place is below zero."""
    return [*_unbalanced(db), *_negative(db), *_overdrawn_customers(db)]


def _unbalanced(db: Connection) -> list[Problem]:
    query = (
        select(POSTING.c.entry_id, LOT.c.code, POSTING.c.unit, func.sum(POSTING.c.quantity))
        .join(LOT, LOT.c.id == POSTING.c.lot_id)
        .group_by(POSTING.c.entry_id, LOT.c.code, POSTING.c.unit)
        .having(func.sum(POSTING.c.quantity) != 0)
    )
    return [
        Problem(
            where=f"entry {entry_id}",
            message=f"postings of {code} do not sum to zero: {quantity_words(int(off), unit)} over",
            rule="balance",
            severity="error",
        )
        for entry_id, code, unit, off in db.execute(query)
    ]


def _negative(db: Connection) -> list[Problem]:
    query = (
        select(LOT.c.code, POSTING.c.unit, POSTING.c.place, func.sum(POSTING.c.quantity))
        .join(LOT, LOT.c.id == POSTING.c.lot_id)
        .join(PLACE, PLACE.c.name == POSTING.c.place)
        .where(PLACE.c.kind.not_in(sorted(kinds_that("free"))))
        .group_by(POSTING.c.lot_id, LOT.c.code, POSTING.c.unit, POSTING.c.place)
        .having(func.sum(POSTING.c.quantity) < 0)
    )
    return [
        Problem(
            where=code,
            message=f"{place} holds {quantity_words(int(held), unit)}, less than nothing",
            rule="negative-stock",
            severity="error",
        )
        for code, unit, place, held in db.execute(query)
    ]


def _overdrawn_customers(db: Connection) -> list[Problem]:
    """Customers who returned more bars of a lot than they have."""
    got = case((MOVEMENT.c.to_place == "customer", MOVEMENT.c.quantity), else_=-MOVEMENT.c.quantity)
    query = (
        select(LOT.c.code, MOVEMENT.c.customer, func.sum(got))
        .join(LOT, LOT.c.id == MOVEMENT.c.lot_id)
        .where(MOVEMENT.c.customer != "", MOVEMENT.c.to_place != "given")
        .where(not_undone(MOVEMENT.c.entry_id))
        .group_by(LOT.c.code, MOVEMENT.c.customer)
        .having(func.sum(got) < 0)
        .order_by(LOT.c.code, MOVEMENT.c.customer)
    )
    return [
        Problem(
            where=code,
            message=f"{who} has {quantity_words(int(bars), 'bars')}, less than nothing",
            rule="negative-stock",
            severity="error",
        )
        for code, who, bars in db.execute(query)
    ]


def check_chain(db: Connection) -> list[Problem]:
    """Findings where an entry is missing, or it or its facts are not what was entered.

    Every entry's hash is computed anew from the rows that are there now and the hash before it.
    """
    problems: list[Problem] = []
    feeds = [_Feed(db, table) for table in fact_tables_in(db)]
    last_id, last_hash = 0, FIRST_HASH
    for entry in db.execute(select(ENTRY).order_by(ENTRY.c.id)).mappings():
        entry_id = entry["id"]
        if entry_id != last_id + 1:
            problems.append(_chain(last_id + 1, f"is missing (the next one is {entry_id})"))
        elif entry["prev_hash"] != last_hash:
            problems.append(_chain(entry_id, "does not follow from the entry before it"))
        facts = [(feed.table, row) for feed in feeds for row in feed.rows_of(entry_id)]
        if entry_hash(entry["prev_hash"], ENTRY, entry, facts) != entry["hash"]:
            problems.append(
                _chain(entry_id, f"was changed, or its facts were ({entry['summary']})")
            )
        last_id, last_hash = entry_id, entry["hash"]
    for feed in feeds:
        problems += [_chain(at, f"has stray rows in {feed.table.name}") for at in feed.strays()]
    return problems


def _chain(entry_id: int, what: str) -> Problem:
    return Problem(where=f"entry {entry_id}", message=what, rule="chain", severity="error")


class _Feed:
    """The rows of one fact table, handed out entry by entry in one pass."""

    def __init__(self, db: Connection, table: Table) -> None:
        self.table = table
        self.key = entry_column(table)
        query = select(table).where(self.key.is_not(None)).order_by(*table.primary_key.columns)
        if table.name == "place":
            query = query.order_by(None).order_by(self.key)
        self._rows: Iterator[RowMapping] = iter(
            db.execute(query, execution_options={"yield_per": 2000}).mappings()
        )
        self._next = next(self._rows, None)
        self._strays: list[int] = []

    def rows_of(self, entry_id: int) -> list[RowMapping]:
        """The rows of an entry; entries are asked for in rising order."""
        rows: list[RowMapping] = []
        while self._next is not None and self._next[self.key.name] <= entry_id:
            if self._next[self.key.name] == entry_id:
                rows.append(self._next)
            else:
                self._strays.append(self._next[self.key.name])
            self._next = next(self._rows, None)
        return rows

    def strays(self) -> list[int]:
        """Entries that rows name but that are not there."""
        left = [] if self._next is None else [self._next, *self._rows]
        return sorted({*self._strays, *(row[self.key.name] for row in left)})
