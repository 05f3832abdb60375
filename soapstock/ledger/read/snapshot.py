"""What every part of the Reader stands on: one snapshot of the ledger."""

from __future__ import annotations

from sqlalchemy import Connection


class Snapshot:
    """A connection in one read transaction; nobody outside the ledger uses it."""

    def __init__(self, connection: Connection) -> None:
        self.db = connection
