"""Query parts shared by what is built from the models: writing, auditing, orders."""

from __future__ import annotations

from typing import Any

from sqlalchemy import ColumnElement, Select, Table, select

from soapstock.ledger.models import ENTRY

UNDO = ENTRY.alias("undo")


def not_undone(entry_id: Any) -> ColumnElement[bool]:
    """True for rows whose entry was not undone."""
    return ~select(UNDO.c.id).where(UNDO.c.undoes == entry_id).exists()


def live(table: Table, *more: Any) -> Select[Any]:
    """Rows of a fact table that were not undone, with their entry's date, writer and note."""
    return (
        select(table, ENTRY.c.happened_on, ENTRY.c.by, ENTRY.c.note, *more)
        .join(ENTRY, ENTRY.c.id == table.c.entry_id)
        .where(not_undone(table.c.entry_id))
        .order_by(table.c.entry_id)
    )
