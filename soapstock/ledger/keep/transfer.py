"""Copying a ledger whole into another database, proving the copy equal, and closing the old one.

The copy is read from one snapshot, written in one transaction and compared before it is committed:
every table row by row (SHA-256 over canonical JSON in key order), the head hash, and the chain.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import islice
from typing import Any

from sqlalchemy import Connection, Table, insert, select

from soapstock.errors import StoreError
from soapstock.ledger.base import engine as eng
from soapstock.ledger.base.chain import plain_row
from soapstock.ledger.base.tables import ENTRY, fact_tables_in
from soapstock.ledger.facts import Stamp
from soapstock.ledger.keep.audit import check_balance, check_chain
from soapstock.ledger.keep.migrate import create
from soapstock.ledger.read.reader import Reader
from soapstock.ledger.store import Ledger

AT_ONCE = 2000


@dataclass(frozen=True, slots=True, kw_only=True)
class Copied:
    """What was copied: entries, rows of all tables, and the head hash both ledgers now share.

    `problems` counts the findings of balance and chain that the source had, and so the copy.
    """

    entries: int
    rows: int
    head_hash: str
    problems: int = 0


def move_to(source: Ledger, target_url: str, stamp: Stamp) -> Copied:
    """Copy a ledger to a database that holds none yet, and close the source with where it went.

    Nobody enters anything between the two. Only undoing the closing entry opens it again.

    Raises:
        RuleBroken: it moved before.
        StoreError: the target has a ledger, cannot be written, or the copy is not equal.
    """
    done: list[Copied] = []
    with source.write() as writer:
        writer.refuse_moved()
        create(target_url, fill=lambda target: done.append(copy_rows(writer.db, target)))
        writer.hand_over(stamp, eng.shown(eng.parse_url(target_url)))
    return done[0]


def copy_to(source: Ledger, target_url: str) -> Copied:
    """Copy a ledger to a database that holds none yet; the source stays as it is.

    Raises:
        StoreError: the target has a ledger, cannot be written, or the copy is not equal.
    """
    done: list[Copied] = []
    with source.read() as reader:
        create(target_url, fill=lambda target: done.append(copy_rows(reader.db, target)))
    return done[0]


def copy_rows(source: Connection, target: Connection) -> Copied:
    """Copy every row into an empty ledger and compare. Raises StoreError when they differ."""
    rows = 0
    for table in (ENTRY, *fact_tables_in(source)):
        for chunk in _chunks(source, table):
            target.execute(insert(table), chunk)
            rows += len(chunk)
    ours, theirs = fingerprint(source), fingerprint(target)
    different = [name for name in ours if ours[name] != theirs[name]]
    if different:
        raise StoreError(f"the copy differs in {', '.join(different)}", hint="nothing was kept")
    problems = [*check_balance(target), *check_chain(target)]
    if problems and len(problems) != len([*check_balance(source), *check_chain(source)]):
        raise StoreError(f"the copy does not hold: {problems[0].message}", hint="nothing was kept")
    entries, head_hash = Reader(target).head()
    return Copied(entries=entries, rows=rows, head_hash=head_hash, problems=len(problems))


def fingerprint(db: Connection) -> dict[str, str]:
    """A hash of each table's rows in key order, the same on every database."""
    return {table.name: _hash_of(db, table) for table in (ENTRY, *fact_tables_in(db))}


def _hash_of(db: Connection, table: Table) -> str:
    digest = hashlib.sha256()
    for row in rows_of(db, table):
        hashes = (row["prev_hash"], row["hash"]) if table is ENTRY else ()
        line = json.dumps([plain_row(table, row), *hashes], ensure_ascii=False, sort_keys=True)
        digest.update(line.encode())
    return digest.hexdigest()


def rows_of(db: Connection, table: Table) -> Iterator[dict[str, Any]]:
    """The rows of a table in key order; of places only those that an entry made."""
    query = select(table).order_by(*table.primary_key.columns)
    if table.name == "place":  # the built-in ones come with the schema; names sort by locale
        query = select(table).where(table.c.entry_id.is_not(None)).order_by(table.c.entry_id)
    for row in db.execute(query, execution_options={"yield_per": AT_ONCE}).mappings():
        yield dict(row)


def _chunks(db: Connection, table: Table) -> Iterator[list[dict[str, Any]]]:
    rows = rows_of(db, table)
    while chunk := list(islice(rows, AT_ONCE)):
        yield chunk
