"""Connections to SQLite and PostgreSQL by URL, and the database's errors in a maker's words.

Writers are serialised on both. SQLite: WAL and BEGIN IMMEDIATE, so a second writer waits up to
BUSY_SECONDS for the first. PostgreSQL: the write transaction locks the `entry` table against other
writers (not readers) before it reads anything, at READ COMMITTED, so every later statement sees all
that was committed before it and a stock check cannot be overtaken. Readers get one snapshot:
a deferred transaction on SQLite, REPEATABLE READ READ ONLY on PostgreSQL.
"""

from __future__ import annotations

import os
import re
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event, text
from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import ArgumentError, DBAPIError, NoSuchModuleError

from soapstock.errors import BadInput, Mend, RuleBroken, SoapstockError, StoreError

BUSY_SECONDS = 15.0
OWNER_ONLY = 0o600  # of a ledger's file: it holds who bought what


def parse_url(url: str) -> URL:
    """The URL with its driver, such as `sqlite:///shop/ledger.db` or `postgresql://host/shop`.

    Raises:
        StoreError: not a URL, or a database we do not support.
    """
    try:
        parsed = make_url(url)
        backend = parsed.get_backend_name()
        if backend != "sqlite" and _PARTS_OF_A_PASSWORD & set(f"{parsed.host}{parsed.database}"):
            raise ValueError
    except (ArgumentError, ValueError):  # what was typed may hold a password: it is not repeated
        raise StoreError(
            "what was given is not a database URL",
            hint="write sqlite:///FOLDER/ledger.db or postgresql://USER@HOST/NAME; in a password "
            "%40 stands for @, %3A for :, %2F for /",
        ) from None
    if backend == "sqlite":
        if not parsed.database or parsed.database == ":memory:":
            raise StoreError("a ledger needs a file", hint="write sqlite:///FOLDER/ledger.db")
        return parsed
    if backend in {"postgresql", "postgres"}:
        return parsed.set(drivername="postgresql+psycopg")
    raise StoreError(f"'{backend}' is not supported", hint="use SQLite or PostgreSQL")


_PARTS_OF_A_PASSWORD = set("@= /")  # in a server's or a database's name, they are a slip


def sqlite_path(url: URL) -> Path | None:
    """The file of a SQLite URL, or None for PostgreSQL."""
    if url.get_backend_name() == "sqlite" and url.database:
        return Path(url.database)
    return None


def shown(url: URL) -> str:
    """The database's name for messages; no password in it."""
    path = sqlite_path(url)
    if path is not None:
        return str(path)
    query = {key: "***" for key in url.query if key.lower() not in _OPEN}
    query |= {key: str(url.query[key]) for key in url.query if key.lower() in _OPEN}
    plain = url.set(
        drivername="postgresql",
        username=_hidden(url.username),
        host=_hidden(url.host),
        database=_hidden(url.database),
        query=query,
    )
    return plain.render_as_string(hide_password=True).replace("%2A", "*")


_OPEN = {"host", "port", "sslmode"}  # what may be shown of a URL's query


def _hidden(part: str | None) -> str | None:
    """A part of a URL, or stars where a password may have slipped into it."""
    return part if part is None or re.fullmatch(r"[\w.-]*", part) else "***"


def connect_engine(url: URL) -> Engine:
    """An engine whose transactions we begin ourselves; nothing is opened yet."""
    path = sqlite_path(url)
    try:
        if path is not None:
            engine = create_engine(
                "sqlite://",
                creator=lambda: _sqlite_connect(path),
                pool_size=5,
                poolclass=_queue_pool(),
            )
        else:
            engine = create_engine(url, connect_args={"connect_timeout": 10})
    except (ModuleNotFoundError, NoSuchModuleError):
        raise StoreError(
            "PostgreSQL needs its driver", hint="python -m pip install 'soapstock[postgres]'"
        ) from None
    if path is not None:
        event.listen(engine, "begin", _sqlite_begin)
    return engine


def _queue_pool() -> Any:
    from sqlalchemy.pool import QueuePool  # noqa: PLC0415 (kept beside its only use)

    return QueuePool


def on_read_only_disk(path: Path) -> bool:
    """Whether nothing at all can write there: a disk that failed, or one that is only shown."""
    return hasattr(os, "statvfs") and bool(os.statvfs(path).f_flag & os.ST_RDONLY)


def unwritten(path: Path) -> str:
    """Where a ledger on a read-only disk is read: there, or with its log in a place of our own."""
    log = path.with_name(f"{path.name}-wal")
    if not log.exists() or not log.stat().st_size:
        return path.absolute().as_uri() + "?mode=ro&immutable=1"
    import atexit  # noqa: PLC0415 (hardly ever needed)
    import shutil  # noqa: PLC0415
    from contextlib import ExitStack  # noqa: PLC0415

    from soapstock.outfile import work_folder  # noqa: PLC0415

    kept = ExitStack()
    away = kept.enter_context(work_folder())
    atexit.register(kept.close)
    for file in (path, log):
        shutil.copyfile(file, away / file.name)
    return (away / path.name).as_uri() + "?mode=rw"


def _sqlite_connect(path: Path) -> sqlite3.Connection:
    only_read = on_read_only_disk(path)
    uri = unwritten(path) if only_read else path.absolute().as_uri() + "?mode=rw"
    connection = sqlite3.connect(
        uri, uri=True, timeout=BUSY_SECONDS, isolation_level=None, check_same_thread=False
    )
    connection.execute(f"PRAGMA query_only = {int(only_read)}")
    connection.execute("PRAGMA foreign_keys = ON")
    connection.execute("PRAGMA recursive_triggers = ON")  # REPLACE fires delete triggers too
    connection.execute("PRAGMA cache_size = -65536")  # 64 MB: years of weigh-ins stay in memory
    connection.execute("PRAGMA synchronous = FULL")  # an acknowledged entry survives a power cut
    return connection


def _sqlite_begin(connection: Connection) -> None:
    write = connection.get_execution_options().get("soapstock_write", False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if write else "BEGIN")


@contextmanager
def write_transaction(engine: Engine) -> Iterator[Connection]:
    """One serialised write transaction; rolled back on any error."""
    with told_plainly(engine), engine.connect() as plain:
        connection = plain.execution_options(soapstock_write=True)
        with connection.begin():
            if engine.dialect.name == "postgresql":
                wait = int(BUSY_SECONDS * 1000)
                connection.execute(text(f"SET LOCAL lock_timeout = {wait}"))
                connection.execute(text("LOCK TABLE entry IN SHARE ROW EXCLUSIVE MODE"))
            yield connection


@contextmanager
def read_transaction(engine: Engine) -> Iterator[Connection]:
    """One snapshot to read from."""
    with told_plainly(engine), engine.connect() as plain:
        connection = plain
        if engine.dialect.name == "postgresql":
            connection = plain.execution_options(
                isolation_level="REPEATABLE READ", postgresql_readonly=True
            )
        with connection.begin():
            yield connection


@contextmanager
def told_plainly(engine: Engine | None = None) -> Iterator[None]:
    """Turn the database's errors into ours."""
    try:
        yield
    except DBAPIError as error:
        raise explain(error.orig or error) from error
    except sqlite3.Error as error:
        raise explain(error) from error
    except OverflowError as error:
        if "SQLite" not in str(error):
            raise
        raise BadInput(
            "a number is longer than any ledger holds", hint="look for a digit too many"
        ) from error


def explain(error: BaseException) -> SoapstockError:
    """What a database error means to the maker, and how to mend it."""
    said = str(error).strip().splitlines()[0] if str(error).strip() else type(error).__name__
    low = said.lower()
    for needle, message, mend in _MEANINGS:
        if needle in low:
            told = f"{message} ({said})"
            if isinstance(mend, Mend):
                return StoreError(told, mend=mend)
            return StoreError(told, hint=mend)
    if "append-only" in low:
        return RuleBroken(
            f"the ledger refuses: {said}", hint="facts are never changed; use undo and enter anew"
        )
    if type(error).__name__ in {"LockNotAvailable", "QueryCanceled"}:
        return StoreError("the ledger is busy with another user", hint="try again in a moment")
    return StoreError(f"the database refused: {said}", hint="nothing was saved")


_MEANINGS: tuple[tuple[str, str, str | Mend], ...] = (
    ("is locked", "the ledger is busy", "another program has it open; try again in a moment"),
    ("lock timeout", "the ledger is busy", "another user is writing; try again in a moment"),
    ("is full", "the disk is full", "free some space; nothing was saved"),
    ("disk i/o", "the disk is full or failing", "free some space, or check the disk"),
    ("readonly", "the ledger's folder or file is read-only", "mend its permissions"),
    ("malformed", "the ledger file is damaged", Mend("restore_newest")),
    ("not a database", "the file is not a ledger", Mend("restore_newest")),
    ("unable to open", "the ledger cannot be opened", "check that its folder is there"),
    ("no such table", "the file has no ledger tables", Mend("start_or_restore")),
    ('role "', "the database server does not know the user", "check the user in the URL"),
    ('database "', "the database is not there", "create it first: createdb NAME"),
    ("connection", "the database server cannot be reached", "check that it runs, and its address"),
    ("password", "the database server refused the login", "check user and password in the URL"),
    ('relation "', "the database has no ledger tables", Mend("start_or_restore")),
)


def check_reachable_file(path: Path) -> None:
    """Refuse plainly before SQLite does it cryptically.

    Raises:
        StoreError: no such file, a folder, empty, unreadable, or where one may not write, but for
            a disk that nobody can write to.
    """
    if not path.exists():
        raise StoreError(
            f"no ledger at {path}",
            mend=Mend("start_or_restore"),
        )
    if not path.is_file():
        raise StoreError(f"{path} is not a file", hint="give the path of the ledger file")
    if on_read_only_disk(path) and os.access(path, os.R_OK):
        return  # it can be read, and backed up elsewhere
    if not os.access(path, os.R_OK | os.W_OK) or not os.access(path.parent, os.W_OK):
        raise StoreError(
            f"{path} or its folder is read-only",
            hint="mend the permissions of the folder and file; on a failing disk first copy "
            f"{path.name} and {path.name}-wal elsewhere",
        )
