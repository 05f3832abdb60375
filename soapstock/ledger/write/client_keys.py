"""Client keys: a name the sender gives an entry, so that a form sent twice counts once."""

from __future__ import annotations

from sqlalchemy import Connection, select

from soapstock.errors import AlreadyEntered, RuleBroken
from soapstock.ledger.base.tables import ENTRY


def entry_of_key(db: Connection, key: str, said: str) -> int | None:
    """The entry that a client key made, or None.

    Args:
        key: the sender's name for the entry.
        said: SHA-256 of what the sender says now.

    Raises:
        RuleBroken: the key was used for something else.
    """
    row = db.execute(
        select(ENTRY.c.id, ENTRY.c.client_sha256, ENTRY.c.summary).where(ENTRY.c.client_key == key)
    ).first()
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
    entry = db.execute(select(ENTRY).where(ENTRY.c.id == entry_id)).one()
    undone = db.execute(select(ENTRY.c.id).where(ENTRY.c.undoes == entry_id)).scalar()
    since = f"; since undone by entry {undone}" if undone is not None else ""
    return AlreadyEntered(
        f"recorded already under entry {entry_id} on {entry.happened_on} by {entry.by}: "
        f"{entry.summary}{since}",
        hint="nothing was written this time; a new fact needs a new --key",
    )
