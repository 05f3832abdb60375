"""A ledger's rows as plain text cells and back again, so that any program can keep them.

A cell is empty where a column holds nothing. A text that a spreadsheet would run as a formula, that
begins with an apostrophe, or that is empty in a column which may hold nothing, has an apostrophe
before it: one apostrophe at the beginning of a text is taken off again on reading.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass
from datetime import date
from typing import Any

from dateutil.parser import isoparse
from sqlalchemy import BigInteger, Boolean, Column, Connection, Date, Float, Integer, Table, insert

from soapstock.errors import BadInput, StoreError
from soapstock.ledger.base.chain import plain_row
from soapstock.ledger.base.schema import newest, schema_version
from soapstock.ledger.base.sql import UtcDateTime
from soapstock.ledger.base.tables import ENTRY, fact_tables
from soapstock.ledger.keep.audit import check_balance, check_chain
from soapstock.ledger.keep.migrate import create
from soapstock.ledger.keep.transfer import AT_ONCE, rows_of
from soapstock.ledger.read.reader import Reader

_DISARMED = ("=", "+", "-", "@", "\t", "\r", "'")
Cells = Mapping[str, str]
Tables = Mapping[str, Iterable[tuple[str, Cells]]]
KINDS: tuple[tuple[type, str], ...] = (
    (UtcDateTime, "instant, UTC"),
    (Date, "day"),
    (Boolean, "true or false"),
    (Float, "number"),
    (BigInteger, "whole number"),
    (Integer, "whole number"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class ColumnTold:
    """What a column of a table holds."""

    table: str
    column: str
    holds: str
    may_be_empty: bool


def columns_told() -> list[ColumnTold]:
    """Every column of every table, in the order they are written."""
    return [
        ColumnTold(
            table=table.name,
            column=column.name,
            holds=_kind(column),
            may_be_empty=bool(column.nullable),
        )
        for table in (ENTRY, *fact_tables())
        for column in table.columns
    ]


def _kind(column: Column[Any]) -> str:
    return next((said for kind, said in KINDS if isinstance(column.type, kind)), "text")


def tables_as_text(reader: Reader) -> Iterator[tuple[str, list[str], Iterator[Cells]]]:
    """Every table: its name, its columns, its rows in key order.

    Raises:
        StoreError: the ledger's schema is not this program's.
    """
    db = reader.db
    found = schema_version(db)
    if found != newest():
        raise StoreError(f"the ledger has schema {found}, this program {newest()}")
    for table in (ENTRY, *fact_tables()):
        yield table.name, [c.name for c in table.columns], _cells_of(db, table)


def _cells_of(db: Connection, table: Table) -> Iterator[Cells]:
    hashes = ("prev_hash", "hash") if table is ENTRY else ()
    for row in rows_of(db, table):
        plain = plain_row(table, row) | {name: row[name] for name in hashes}
        yield {column.name: _written(column, plain[column.name]) for column in table.columns}


def _written(column: Column[Any], value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, str) and _kind(column) == "text":
        guarded = value.startswith(_DISARMED) or (not value and column.nullable)
        return "'" + value if guarded else value
    return str(value).lower() if isinstance(value, bool) else str(value)


_READ: Mapping[str, Callable[[str], Any]] = {
    "instant, UTC": isoparse,
    "day": date.fromisoformat,
    "true or false": {"true": True, "false": False}.__getitem__,
    "number": float,
    "whole number": int,
    "text": lambda text: text.removeprefix("'"),
}


def _value(column: Column[Any], text: str, where: str) -> Any:
    """The value of a cell. Raises BadInput naming where it stands."""
    kind = _kind(column)
    if not text and (column.nullable or kind != "text"):
        if column.nullable:
            return None
        raise BadInput(f"{where}: column {column.name} is empty")
    with suppress(ValueError, KeyError, OverflowError):
        return _READ[kind](text)
    raise BadInput(f"{where}: '{text[:40]}' under {column.name} is no {kind}")


def rebuild(url: str, tables: Tables, head: tuple[int, str]) -> int:
    """Make a ledger of its rows in text, in a database that holds none; nothing stays if it fails.

    Args:
        tables: rows by table, each with where it stands.
        head: number and hash of the last entry, as the ledger that was written out had them.

    Returns:
        how many rows it has.

    Raises:
        BadInput: a cell cannot be read, or a table or column is not of this program's schema.
        StoreError: the rows are not the ledger that was written out, or the database cannot be had.
    """
    known = {table.name: table for table in (ENTRY, *fact_tables())}
    for name in tables:
        if name not in known:
            raise BadInput(f"no table {name} in this program's ledger")
    rows = 0

    def fill(db: Connection) -> None:
        nonlocal rows
        for name, table in known.items():
            rows += _fill_table(db, table, tables.get(name, ()))
        problems = [*check_balance(db), *check_chain(db)]
        if problems:
            raise StoreError(f"what is given is no whole ledger: {problems[0]}")
        if Reader(db).head() != head:
            raise StoreError("what is given is not the whole ledger: its last entry is another")

    create(url, fill)
    return rows


def _fill_table(db: Connection, table: Table, rows: Iterable[tuple[str, Cells]]) -> int:
    waiting: list[dict[str, Any]] = []
    count = 0
    names = {column.name for column in table.columns}
    for where, cells in rows:
        if set(cells) != names:
            odd = sorted(set(cells) ^ names)[0]
            raise BadInput(f"{where}: column {odd} is missing or not one of {table.name}")
        waiting.append({c.name: _value(c, cells[c.name], where) for c in table.columns})
        count += 1
        if len(waiting) >= AT_ONCE:
            db.execute(insert(table), waiting)
            waiting = []
    if waiting:
        db.execute(insert(table), waiting)
    return count
