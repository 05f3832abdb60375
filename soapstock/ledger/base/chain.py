"""The hash chain: each entry's hash covers all its facts, its postings and the hash before it.

SHA-256 (FIPS 180-4) over canonical JSON: keys sorted, no spaces, dates as ISO 8601, floats by their
shortest exact form. Whoever changes a past fact behind our back must change every hash after it;
whoever changes those too is found by the head hash noted on paper or in a backup.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterable, Mapping
from datetime import UTC, date, datetime
from functools import cache
from typing import Any

from sqlalchemy import Boolean, Date, Float, Table

from soapstock.ledger.base.sql import UtcDateTime

FIRST_HASH = "0" * 64
Row = Mapping[Any, Any]


def _instant(value: datetime) -> str:
    return value.astimezone(UTC).isoformat()


def _day(value: date) -> str:
    return value.isoformat()


def _same(value: Any) -> Any:
    return value


@cache
def _converters(table: Table) -> tuple[tuple[str, Callable[[Any], Any]], ...]:
    found: list[tuple[str, Callable[[Any], Any]]] = []
    for column in table.columns:
        if table.name == "entry" and column.name in {"hash", "prev_hash"}:
            continue
        kind = column.type
        convert: Callable[[Any], Any] = _same
        if isinstance(kind, UtcDateTime):
            convert = _instant
        elif isinstance(kind, Date):
            convert = _day
        elif isinstance(kind, Float):
            convert = float
        elif isinstance(kind, Boolean):
            convert = bool
        found.append((column.name, convert))
    return tuple(found)


def plain_row(table: Table, row: Row) -> dict[str, Any]:
    """One row as JSON values; a column that is not given counts as null."""
    plain: dict[str, Any] = {}
    for name, convert in _converters(table):
        value = row.get(name)
        plain[name] = None if value is None else convert(value)
    return plain


def entry_hash(
    prev_hash: str, entry_table: Table, entry: Row, facts: Iterable[tuple[Table, Row]]
) -> str:
    """The hash of an entry.

    Args:
        prev_hash: hash of the entry before it, FIRST_HASH for the first.
        entry_table: the `entry` table.
        entry: the entry's own columns.
        facts: every other row that belongs to it, postings included, in any order.

    Returns:
        64 hexadecimal digits.
    """
    rows: dict[str, list[dict[str, Any]]] = {}
    for table, row in facts:
        rows.setdefault(table.name, []).append(plain_row(table, row))
    for lines in rows.values():
        lines.sort(key=lambda line: int(line.get("line") or 0))
    content = [prev_hash, plain_row(entry_table, entry), rows]
    said = json.dumps(content, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    return hashlib.sha256(said.encode()).hexdigest()
