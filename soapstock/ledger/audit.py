"""Reviewing a ledger: balance, chain, stock and order of facts; every finding, not the first."""

from __future__ import annotations

from sqlalchemy import Connection, func, select

from soapstock.errors import Problem
from soapstock.ledger.models import LOT, PLACE, POSTING
from soapstock.ledger.writer_core import FREE_KINDS, quantity_words


def check_balance(db: Connection) -> list[Problem]:
    """Findings where an entry does not sum to zero per lot and unit, or a place is below zero."""
    return [*_unbalanced(db), *_negative(db)]


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
        .where(PLACE.c.kind.not_in(sorted(FREE_KINDS)))
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
