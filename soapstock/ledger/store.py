"""Opening a ledger: one transaction to write, one snapshot to read, whatever the database.

A question that takes several functions to answer holds one snapshot for all of them, and an entry
that depends on what is read holds one write transaction: `snapshot` and `transaction` give a ledger
whose every `read` and `write` is of that one.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

from sqlalchemy import Engine

from soapstock.ledger.base import engine as eng
from soapstock.ledger.base.schema import check_schema

if TYPE_CHECKING:
    from soapstock.ledger.read.reader import Reader
    from soapstock.ledger.write.writer import Writer

__all__ = ["Ledger", "open_ledger"]


def open_ledger(url: str, begun: Callable[[], None] | None = None) -> Ledger:
    """Open an existing ledger of today's schema.

    Args:
        begun: done whenever a transaction begins, such as to make known what is this shop's own.

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
    return Ledger(url, engine, begun)


class Ledger:
    """An open ledger; close it when done, or use it in a `with`."""

    def __init__(self, url: str, engine: Engine, begun: Callable[[], None] | None = None) -> None:
        self.url = url
        self.engine = engine
        self._begun = begun or _nothing
        self.sent: list[tuple[int, str]] = []  # newest entry of each write, whether it came to be

    @contextmanager
    def write(self) -> Iterator[Writer]:
        """One transaction: saved whole at the end of the `with`, or not at all.

        Raises:
            StoreError: busy, disk full, read-only or damaged; nothing was saved.
        """
        from soapstock.ledger.write.writer import Writer  # noqa: PLC0415 (listings never write)

        self._begun()
        with eng.write_transaction(self.engine) as connection:
            writer = Writer(connection)
            yield writer
            if writer.head_id > writer.began_after:
                self.sent.append((writer.head_id, writer.head_hash))

    @contextmanager
    def read(self) -> Iterator[Reader]:
        """A consistent snapshot to read from."""
        from soapstock.ledger.read.reader import Reader  # noqa: PLC0415 (matches write)

        self._begun()
        with eng.read_transaction(self.engine) as connection:
            yield Reader(connection)

    @contextmanager
    def snapshot(self) -> Iterator[Ledger]:
        """This ledger for one question: all that is read through it is of one moment."""
        with self.read() as reader:
            yield _Held(self, reader)

    @contextmanager
    def transaction(self) -> Iterator[Ledger]:
        """This ledger for one entry: what is read is what stands, and nobody writes between."""
        from soapstock.ledger.read.reader import Reader  # noqa: PLC0415 (matches write)

        with self.write() as writer:
            yield _Held(self, Reader(writer.db), writer)

    def close(self) -> None:
        """Give the connections back."""
        self.engine.dispose()

    def __enter__(self) -> Ledger:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()


def _nothing() -> None:
    """Nothing needs to be made known."""


class _Held(Ledger):
    """A ledger inside one transaction."""

    def __init__(self, ledger: Ledger, reader: Reader, writer: Writer | None = None) -> None:
        super().__init__(ledger.url, ledger.engine, ledger._begun)
        self._reader, self._writer = reader, writer

    @contextmanager
    def read(self) -> Iterator[Reader]:
        """The snapshot that is open."""
        self._begun()
        yield self._reader

    @contextmanager
    def write(self) -> Iterator[Writer]:
        """The write transaction that is open; saved where it was begun."""
        if self._writer is None:
            raise AssertionError("a question writes nothing")
        self._begun()
        yield self._writer
