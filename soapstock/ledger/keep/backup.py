"""Backups of a ledger: made while it is in use, read back before they count, restored with care.

A backup is one SQLite file whatever the ledger's database: a page copy of a SQLite ledger (SQLite's
online backup), a row copy of one on PostgreSQL. Its name says when it was made and how far it goes.
"""

from __future__ import annotations

import os
import re
import shutil
import sqlite3
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Literal

from sqlalchemy import Engine

from soapstock.errors import Mend, NotFound, RuleBroken, StoreError
from soapstock.ledger.base import engine as eng
from soapstock.ledger.base.schema import check_schema, newest, schema_version
from soapstock.ledger.keep.audit import check_rows
from soapstock.ledger.keep.migrate import upgrade_connection
from soapstock.ledger.keep.transfer import copy_to
from soapstock.ledger.store import Ledger, open_ledger
from soapstock.outfile import work_folder
from soapstock.units import several

NAME = re.compile(r"ledger-(\d{8}T\d{6}Z)-(\d+)\.db")


_NEWEST = "SELECT id, hash FROM entry ORDER BY id DESC LIMIT 1"
_DATABASE = b"SQLite format 3\x00"  # SQLite, Database File Format, section 1.2


WHOLE = {"file", "cells", "unreadable", "balance", "chain"}  # rules that a backup must keep


class NotWhole(StoreError):
    """A ledger that can be read, but whose balance or chain is broken."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Backup:
    """A backup that was read back and found whole.

    Attributes:
        holds: how many entries, and the newest of them in words.
        removed: older backups taken away.
        before: after a restore, where the ledger that it replaced is kept; None where none was.
    """

    path: Path
    entries: int
    head_hash: str
    holds: str = ""
    removed: tuple[Path, ...] = ()
    before: Path | None = None


def backup(ledger: Ledger, folder: Path, *, now: datetime, keep: int | None = None) -> Backup:
    """Back a ledger up into a folder while others may use it.

    Args:
        now: instant, aware, for the file's name.
        keep: keep only so many of this ledger's backups in the folder, this one among them; those
            that go less far are removed afterwards. Another ledger's are never touched.

    Raises:
        StoreError: the folder cannot be written, or the backup does not read back whole.
    """
    if keep is not None and keep < 1:
        raise RuleBroken("keep at least one backup", hint="give 1 or more")
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with work_folder(folder) as work:
            fresh = work / "ledger.db"
            _copy_out(ledger, fresh)
            entries, head_hash = _checked_new(fresh)
            stamp = now.astimezone(UTC).strftime("%Y%m%dT%H%M%SZ")
            path = folder / f"ledger-{stamp}-{entries:06d}.db"
            _to_disk(fresh)
            os.replace(fresh, path)
            _to_disk(folder)
    except OSError as error:
        raise StoreError(
            f"cannot write the backup in {folder}: {error.strerror}",
            hint="free some space there, or choose another folder",
        ) from error
    removed = prune(ledger, path, keep) if keep is not None else ()
    return Backup(path=path, entries=entries, head_hash=head_hash, removed=removed)


def _checked_new(fresh: Path) -> tuple[int, str]:
    """Read a new backup back; where it is not whole, the ledger it was taken from is not."""
    try:
        return verify(fresh)
    except NotWhole as error:
        said = error.message.removeprefix(f"backup {fresh.name} is not whole: ")
        raise NotWhole(
            f"the ledger itself is not whole, so this is no backup: {said}",
            hint="keep a copy of the ledger as it is, then restore the newest backup that is whole",
            mend=Mend("audit"),
        ) from error


def _copy_out(ledger: Ledger, target: Path) -> None:
    source = eng.sqlite_path(eng.parse_url(ledger.url))
    if source is None:
        copy_to(ledger, f"sqlite:///{target}")
        return
    target.touch(mode=eng.OWNER_ONLY)
    with (
        eng.told_plainly(),
        closing(_open(source, "ro")) as one,
        closing(sqlite3.connect(target)) as two,
    ):
        one.backup(two)
        two.execute("PRAGMA journal_mode = DELETE")  # a backup is one file, with no WAL beside it


def _open(path: Path, mode: str) -> sqlite3.Connection:
    uri = f"{path.absolute().as_uri()}?mode={mode}"
    if mode == "ro" and eng.on_read_only_disk(path):
        uri = eng.unwritten(path)
    return sqlite3.connect(uri, uri=True, timeout=eng.BUSY_SECONDS)


def _to_disk(path: Path) -> None:
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def verify(path: Path) -> tuple[int, str]:
    """Read a backup back in full: file, balance, chain and facts.

    Returns:
        number and hash of its newest entry.

    Raises:
        NotFound: no such file.
        StoreError: not a ledger, damaged, of a newer program, or its chain is broken.
    """
    with work_folder() as work:
        return _checked(_copy_of(path, work), path.name)


def _copy_of(path: Path, folder: Path) -> Path:
    """A copy of a backup, brought to today's schema; the backup itself stays untouched."""
    if not path.is_file():
        raise NotFound(f"no backup at {path}", mend=Mend("list_backups"))
    copy = folder / "ledger.db"
    _copy_file(path, copy)
    for end in ("-wal", "-journal"):  # what was written last may stand in a log beside it
        log = path.with_name(path.name + end)
        if log.is_file():
            _copy_file(log, folder / f"ledger.db{end}", first=b"")
    engine = eng.connect_engine(eng.parse_url(f"sqlite:///{copy}"))
    try:
        _bring_up(engine, path.name)
    except StoreError as error:
        if path.name in error.message:
            raise
        raise StoreError(f"{path.name}: {error.message}", hint="take another file") from error
    finally:
        engine.dispose()
    return copy


def _copy_file(source: Path, target: Path, first: bytes = _DATABASE) -> None:
    """Copy a file that begins as it must, a piece at a time. Raises StoreError."""
    with source.open("rb") as one:
        begun = one.read(len(first))
        if begun != first:
            raise StoreError(
                f"{source.name}: the file is not a ledger", hint="take another backup file"
            )
        with target.open("wb") as two:
            two.write(begun)
            shutil.copyfileobj(one, two, 1 << 20)


def _bring_up(engine: Engine, name: str) -> None:
    """Bring a copy of a ledger to today's schema. Raises StoreError where it is none."""
    with eng.read_transaction(engine) as connection:
        found = schema_version(connection)
        if found is None or found > newest():
            check_schema(connection, name)
    if found is not None and found < newest():
        with eng.write_transaction(engine) as connection:
            upgrade_connection(connection)


def _checked(copy: Path, name: str) -> tuple[int, str]:
    with open_ledger(f"sqlite:///{copy}") as ledger, ledger.read() as reader:
        _, _, found = check_rows(reader)
        broken = [p for p in found if p.rule in WHOLE]
        if broken:
            raise NotWhole(
                f"backup {name} is not whole: {broken[0].where} {broken[0].message}",
                hint="take another backup file",
            )
        return reader.head()


def backups(folder: Path) -> list[Path]:
    """The backups in a folder, newest first."""
    if not folder.is_dir():
        return []
    named = [path for path in folder.iterdir() if NAME.fullmatch(path.name)]
    return sorted(named, key=lambda path: path.name, reverse=True)


def prune(ledger: Ledger, made: Path, keep: int) -> tuple[Path, ...]:
    """Remove this ledger's backups that go least far; neither the one just made nor another's.

    A backup is this ledger's when its newest entry is one of the ledger's own.
    """
    ours: list[tuple[int, float, Path]] = []
    with ledger.read() as reader:
        for path in backups(made.parent):
            entries, digest = _head_of(path)
            if path != made and entries and reader.hash_of(entries) == digest:
                ours.append((entries, path.stat().st_mtime, path))
    old = [path for _, _, path in sorted(ours, reverse=True)[keep - 1 :]]
    for path in old:
        path.unlink(missing_ok=True)
    return tuple(old)


def _head_of(path: Path) -> tuple[int, str]:
    """Number and hash of a file's newest entry; (0, "") where there is none to be read."""
    try:
        with closing(_open(path, "ro")) as connection:
            row = connection.execute(_NEWEST).fetchone()
    except sqlite3.Error:
        return 0, ""
    return (row[0], row[1]) if row else (0, "")


def restore(path: Path, url: str, *, now: datetime, force: bool = False) -> Backup:
    """Put a backup in place of a ledger, or where none is.

    The ledger that was there is backed up beside it first. Without `force` a ledger that has any
    entry the backup lacks is left alone. A backup of an older schema is brought to today's.

    Raises:
        NotFound: no such backup.
        RuleBroken: the ledger is newer than the backup, or they are of different shops.
        StoreError: the backup is not whole, or the target cannot be written.
    """
    try:
        with work_folder() as work:
            copy = _copy_of(path, work)
            entries, head_hash = _checked(copy, path.name)
            holds = _holds(copy)
            target = eng.sqlite_path(eng.parse_url(url))
            before = None
            if target is not None and target.exists():
                before = _replace(copy, url, target, now=now, force=force)
            else:
                with open_ledger(f"sqlite:///{copy}") as ledger:
                    copy_to(ledger, url)  # refuses a server's database that has a ledger already
    except OSError as error:
        raise StoreError(
            f"cannot restore {path.name}: {error.filename or 'a file'}: {error.strerror}",
            hint="mend the permissions, or free some space; the ledger is as it was",
        ) from error
    with open_ledger(url) as ledger, ledger.read() as reader:
        if reader.head() != (entries, head_hash):
            raise StoreError("the restored ledger is not the backup", hint="restore again")
    return Backup(path=path, entries=entries, head_hash=head_hash, holds=holds, before=before)


def _replace(copy: Path, url: str, target: Path, *, now: datetime, force: bool) -> Path:
    """Put a backup in place of a ledger; where the ledger as it was is kept.

    What is entered between keeping and replacing is compared, and kept, as well.
    """
    while True:
        head = _head_of(target)
        before = _keep_newer(copy, url, target, now=now, force=force)
        try:
            _overwrite(copy, target, head)
        except _Overtaken:
            continue
        return before


class _Overtaken(Exception):
    """Something was entered into a ledger since it was looked at."""


def _keep_newer(path: Path, url: str, target: Path, *, now: datetime, force: bool) -> Path:
    """Keep the ledger that a backup will replace; where it is kept."""
    try:
        with open_ledger(url) as ledger:
            with ledger.read() as reader:
                entries, digest = reader.head()
            if not force and not entries:
                raise RuleBroken(
                    f"{target} is empty, so nothing shows that this is its backup: it holds "
                    f"{_holds(path)}",
                    mend=Mend("restore_over"),
                )
            if not force and not _has(path, entries, digest):
                raise RuleBroken(
                    f"{target} has entries the backup lacks (it is at entry {entries})",
                    hint="today's ledger is backed up before it is replaced",
                    mend=Mend("restore_over"),
                )
            return backup(ledger, target.parent / "before-restore", now=now).path
    except StoreError as error:
        state = "unfit" if isinstance(error, NotWhole) else _state_of(target)
        if state == "fine":  # busy, say, or the disk is full
            raise
        if not force:
            raise StoreError(
                f"the ledger there cannot be compared: {error.message}",
                hint="a copy of the file is kept beside it",
                mend=Mend("restore_over"),
            ) from error
        stamp = now.astimezone(UTC).strftime("%Y%m%dT%H%M%SZ")
        kept = target.with_name(f"{target.name}.unreadable-{stamp}")
        if state == "unfit":  # others may have it open: its pages are copied, and copied over
            _copy_pages(target, kept)
        else:
            _replace_rubbish(path, target, kept)
        return kept


def _state_of(target: Path) -> Literal["fine", "unfit", "rubbish"]:
    """What a ledger is that cannot be used now: fine, not one of today's, or no database."""
    try:
        with closing(_open(target, "ro")) as connection:
            whole = connection.execute("PRAGMA quick_check(1)").fetchone()[0] == "ok"
            found = connection.execute("SELECT version_num FROM alembic_version").fetchone()
    except sqlite3.DatabaseError as error:
        name = getattr(error, "sqlite_errorname", "")
        if name.startswith(("SQLITE_NOTADB", "SQLITE_CORRUPT")):
            return "rubbish"
        return "unfit" if "no such table" in str(error) else "fine"
    return "fine" if whole and found == (newest(),) else "unfit"


def _copy_pages(source: Path, target: Path) -> None:
    """A page copy of a database as it is, whole or not there at all."""
    try:
        target.touch(mode=eng.OWNER_ONLY)
        with (
            eng.told_plainly(),
            closing(_open(source, "ro")) as one,
            closing(sqlite3.connect(target)) as two,
        ):
            one.backup(two)
    except BaseException:
        target.unlink(missing_ok=True)
        raise


def _replace_rubbish(path: Path, target: Path, kept: Path) -> None:
    """Put a backup where a file is no database; that file, and its log, are kept first."""
    with work_folder(target.parent) as work:
        fresh = work / target.name
        fresh.touch(mode=eng.OWNER_ONLY)
        fresh.write_bytes(path.read_bytes())
        _to_disk(fresh)
        for end in ("-wal", ""):
            part = target.with_name(target.name + end)
            if part.exists():
                copy = work / "copy"
                copy.touch(mode=eng.OWNER_ONLY)
                copy.write_bytes(part.read_bytes())
                os.replace(copy, kept.with_name(kept.name + end))
        for end in ("-wal", "-shm"):  # they do not belong to the new file
            target.with_name(target.name + end).unlink(missing_ok=True)
        os.replace(fresh, target)


def _holds(path: Path) -> str:
    """How much a ledger's file holds, and its newest entry."""
    with closing(_open(path, "ro")) as connection:
        row = connection.execute(
            'SELECT id, happened_on, "by", summary FROM entry ORDER BY id DESC LIMIT 1'
        ).fetchone()
    if row is None:
        return "nothing"
    return f"{several(row[0], 'entry')}, the newest of {row[1]} by {row[2]}: {row[3]}"


def _has(path: Path, entry_id: int, digest: str) -> bool:
    with closing(_open(path, "ro")) as connection:
        row = connection.execute("SELECT hash FROM entry WHERE id = ?", (entry_id,)).fetchone()
    return row is not None and row[0] == digest


def _overwrite(path: Path, target: Path, head: tuple[int, str]) -> None:
    """Copy the backup's pages over the ledger in one transaction; a crash leaves the old one.

    Raises:
        _Overtaken: the ledger's newest entry is no longer `head`; it is as it was.
    """
    looked = False

    def look(status: int, _remaining: int, _total: int) -> None:
        nonlocal looked
        if status == sqlite3.SQLITE_OK and not looked:  # now nobody else can write
            looked = True
            if head[0] and _head_of(target) != head:
                raise _Overtaken

    with eng.told_plainly(), closing(_open(path, "ro")) as one, closing(_open(target, "rw")) as two:
        one.backup(two, pages=1, progress=look)
        two.execute("PRAGMA journal_mode = WAL")
