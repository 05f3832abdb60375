"""Making a ledger and bringing an older one to today's schema, by alembic and without noise.

Alembic is imported only here, and late, so that opening an up-to-date ledger does not pay for it.
"""

from __future__ import annotations

import os
import shutil
import sqlite3
from collections.abc import Callable
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from sqlalchemy import Connection, Engine, MetaData, insert, select

from soapstock.errors import StoreError
from soapstock.ledger.base import engine as eng
from soapstock.ledger.base import schema
from soapstock.ledger.base.schema import check_schema, newest, schema_version
from soapstock.outfile import work_folder


def upgrade_connection(connection: Connection, to: str = "head") -> None:
    """Run the migrations on an open transaction."""
    from alembic import command  # noqa: PLC0415 (slow import, needed only here)
    from alembic.config import Config  # noqa: PLC0415

    config = Config()
    config.set_main_option("script_location", str(schema.MIGRATIONS))
    config.set_main_option("path_separator", "os")
    config.attributes["connection"] = connection
    command.upgrade(config, to)


Fill = Callable[[Connection], None]


def create(url: str, fill: Fill | None = None) -> None:
    """Make a new ledger at the newest schema; nothing half-made is left behind.

    Args:
        url: where.
        fill: puts something in before the ledger is there for anybody, such as a copy of another.

    Raises:
        StoreError: something is there already, or the place cannot be written.
    """
    parsed = eng.parse_url(url)
    path = eng.sqlite_path(parsed)
    if path is None:
        _create_on_server(eng.connect_engine(parsed), eng.shown(parsed), fill)
        return
    if path.exists():
        raise StoreError(f"{path} is there already", hint="choose another folder, or use that shop")
    refuse_stray_log(path)
    if not path.parent.is_dir() or not os.access(path.parent, os.W_OK):
        raise StoreError(f"cannot write in {path.parent}", hint="make the folder or choose another")
    with work_folder(path.parent) as folder:
        fresh = folder / "ledger.db"
        _create_file(fresh, fill)
        refuse_stray_log(path)
        try:
            os.link(fresh, path)  # unlike a rename, never over a file another process just made
        except FileExistsError:
            raise StoreError(f"{path} is there already", hint="use that shop") from None
        except OSError:  # a file system without hard links
            shutil.move(fresh, path)


def refuse_stray_log(path: Path) -> None:
    """Refuse to put a ledger beside the log of another, which would be taken for its own.

    Raises:
        StoreError: one lies there.
    """
    for end in ("-wal", "-shm", "-journal"):
        stray = path.with_name(path.name + end)
        if os.path.lexists(stray):
            raise StoreError(
                f"{stray} lies there without its ledger",
                hint="it may hold entries of a ledger that was there: move it away, and keep it",
            )


def _create_file(path: Path, fill: Fill | None) -> None:
    with eng.told_plainly():
        path.touch(mode=eng.OWNER_ONLY)
        engine = eng.connect_engine(eng.parse_url(f"sqlite:///{path}"))
        try:
            raw = engine.raw_connection()
            raw.cursor().execute("PRAGMA journal_mode = WAL")
            raw.close()
            with engine.connect() as connection, connection.begin():
                upgrade_connection(connection)
                if fill is not None:
                    fill(connection)
        finally:
            engine.dispose()  # the last connection folds the WAL back into the file


def _create_on_server(engine: Engine, name: str, fill: Fill | None) -> None:
    try:
        with eng.told_plainly(), engine.connect() as connection, connection.begin():
            if schema_version(connection) is not None:
                raise StoreError(
                    f"{name} has a ledger already",
                    hint="choose a database that has none: createdb NAME, and set it in shop.toml",
                )
            upgrade_connection(connection)
            if fill is not None:
                fill(connection)
    finally:
        engine.dispose()


@dataclass(frozen=True, slots=True, kw_only=True)
class Upgraded:
    """Schema before and after, and the backup made before anything was changed (None if none)."""

    before: str
    after: str
    backup: Path | None


def upgrade(url: str, folder: Path, *, now: datetime) -> Upgraded:
    """Bring a ledger to today's schema, after a backup; all of it or nothing.

    Args:
        folder: where the backup goes, named by its schema and the time.
        now: instant, aware, for the backup's name.

    Raises:
        StoreError: no ledger there, one of a newer program, or the backup failed.
    """
    parsed, to = eng.parse_url(url), newest()
    path = eng.sqlite_path(parsed)
    if path is not None:
        eng.check_reachable_file(path)
    engine = eng.connect_engine(parsed)
    try:
        with eng.read_transaction(engine) as connection:
            before = schema_version(connection)
        if before is None or before > to:
            with eng.read_transaction(engine) as connection:
                check_schema(connection, eng.shown(parsed))
        if before is None or before == to:
            return Upgraded(before=before or to, after=to, backup=None)
        stamp = now.astimezone(UTC).strftime("%Y%m%dT%H%M%SZ")
        target = folder / f"before-schema-{to}-{stamp}.db"
        _copy_before(engine, path, before, target)
        with eng.write_transaction(engine) as connection:
            upgrade_connection(connection, to)
    finally:
        engine.dispose()
    return Upgraded(before=before, after=to, backup=target)


def _copy_before(engine: Engine, path: Path | None, schema: str, target: Path) -> None:
    """A copy at the old schema: pages of a SQLite file, or rows of a server's tables."""
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise StoreError(f"cannot write in {target.parent}: {error.strerror}") from error
    with eng.told_plainly(), work_folder(target.parent) as work:
        part = work / "ledger.db"
        part.touch(mode=eng.OWNER_ONLY)
        if path is not None:
            with closing(sqlite3.connect(path)) as one, closing(sqlite3.connect(part)) as two:
                one.backup(two)
        else:
            _copy_rows_before(engine, schema, part)
        with closing(sqlite3.connect(part)) as check:
            said = check.execute("PRAGMA integrity_check").fetchone()[0]
        if said != "ok":
            raise StoreError(f"the backup before the migration is not whole: {said}")
        os.replace(part, target)


def _copy_rows_before(engine: Engine, schema: str, part: Path) -> None:
    local = eng.connect_engine(eng.parse_url(f"sqlite:///{part}"))
    try:
        with eng.read_transaction(engine) as source, local.connect() as plain, plain.begin():
            upgrade_connection(plain, schema)
            tables = MetaData()
            tables.reflect(plain)
            for table in tables.sorted_tables:
                if table.name == "alembic_version":
                    continue
                rows = [dict(row) for row in source.execute(select(table)).mappings()]
                if table.name == "place":
                    rows = [row for row in rows if row["entry_id"] is not None]
                if table.name == "entry":
                    rows.sort(key=lambda row: int(row["id"]))
                if rows:
                    plain.execute(insert(table), rows)
    finally:
        local.dispose()
