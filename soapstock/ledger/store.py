"""Opening a ledger: one transaction to write, one snapshot to read, whatever the database."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

from sqlalchemy import Engine

from soapstock.ledger.base import engine as eng
from soapstock.ledger.base.schema import check_schema

if TYPE_CHECKING:
    from soapstock.ledger.read.reader import Reader
    from soapstock.ledger.write.writer import Writer

__all__ = ["Ledger", "open_ledger"]


def open_ledger(url: str) -> Ledger:
    """Open an existing ledger of today's schema.

    Raises:
        StoreError: missing, unreachable, damaged, or of another schema.
    """
    parsed = eng.parse_url(url)
    path = eng.sqlite_path(parsed)
    if path is not None:
        eng.check_reachable_file(path)
    engine = eng.connect_engine(parsed)
    try:
        with eng.read_transaction(engine) as connection:
            check_schema(connection, eng.shown(parsed))
    except BaseException:
        engine.dispose()
        raise
    return Ledger(url, engine)


class Ledger:
    """An open ledger; close it when done, or use it in a `with`."""

    def __init__(self, url: str, engine: Engine) -> None:
        self.url = url
        self.engine = engine

    @contextmanager
    def write(self) -> Iterator[Writer]:
        """One transaction: saved whole at the end of the `with`, or not at all.

        Raises:
            StoreError: busy, disk full, read-only or damaged; nothing was saved.
        """
        from soapstock.ledger.write.writer import Writer  # noqa: PLC0415 (listings never write)

        with eng.write_transaction(self.engine) as connection:
            yield Writer(connection)

    @contextmanager
    def read(self) -> Iterator[Reader]:
        """A consistent snapshot to read from."""
        from soapstock.ledger.read.reader import Reader  # noqa: PLC0415 (matches write)

        with eng.read_transaction(self.engine) as connection:
            yield Reader(connection)

    def close(self) -> None:
        """Give the connections back."""
        self.engine.dispose()

    def __enter__(self) -> Ledger:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()
