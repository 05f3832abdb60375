"""Client keys: a name the sender gives an entry, so that a form sent twice counts once."""

from __future__ import annotations

from sqlalchemy import Connection

from soapstock.errors import AlreadyEntered, RuleBroken
from soapstock.ledger.base.sql import query


def entry_of_key(db: Connection, key: str, said: str) -> int | None:
    """The entry that a client key made, or None.

    Args:
        key: the sender's name for the entry.
        said: SHA-256 of what the sender says now.

    Raises:
        RuleBroken: the key was used for something else.
    """
    sql = "SELECT e.id, e.client_sha256, e.summary FROM entry e WHERE e.client_key = :key"
    row = db.execute(query(sql), {"key": key}).first()
    if row is None:
        return None
    if row.client_sha256 != said:
        raise RuleBroken(
            f"client key '{key}' was used before for another entry, {row.id} ({row.summary})",
            hint="give each new fact its own key",
        )
    return int(row.id)


def already_entered(db: Connection, entry_id: int) -> AlreadyEntered:
    """What to tell a sender whose entry is on record already."""
    sql = """
        SELECT e.happened_on, e.by, e.summary, u.id AS undone FROM entry e
        LEFT JOIN entry u ON u.undoes = e.id WHERE e.id = :id"""
    entry = db.execute(query(sql), {"id": entry_id}).one()
    since = f"; since undone by entry {entry.undone}" if entry.undone is not None else ""
    return AlreadyEntered(
        f"recorded already under entry {entry_id} on {entry.happened_on} by {entry.by}: "
        f"{entry.summary}{since}",
        hint="nothing was written this time; a new fact needs a key of its own",
    )
