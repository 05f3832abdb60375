"""Keeping the ledger: audit, backup, restore, moving to another database, migrating."""

from __future__ import annotations

import os
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from soapstock.desk.desk import Desk
from soapstock.errors import BadInput, Problem
from soapstock.shop import load_shop
from soapstock.upkeep.heads import cut_off, note

if TYPE_CHECKING:
    from soapstock.ledger.keep.audit import Audit
    from soapstock.ledger.keep.backup import Backup
    from soapstock.ledger.keep.migrate import Upgraded
    from soapstock.ledger.keep.transfer import Copied


BACKUPS = "backups"


def audit(desk: Desk, expect: str = "") -> Audit:
    """Check everything in the ledger.

    Args:
        desk: the shop.
        expect: `NUMBER:HASH` (or the first twelve or more digits of the hash) noted earlier on
            paper; an entry that no longer has it is a finding.

    Raises:
        BadInput: the note cannot be read.
    """
    from soapstock.ledger.keep.audit import audit as check

    number, digest = _noted(expect)
    with desk.ledger.read() as reader:
        found = check(reader)
        lost = cut_off(reader, desk.shop.folder / BACKUPS) if found.entries else []
        found = replace(found, problems=(*found.problems, *lost))
        if not number:
            return found
        here = reader.hash_of(number)
    if here is not None and here.startswith(digest):
        return found
    now = "is not there" if here is None else f"now has {here[:12]}"
    problem = Problem(
        where=f"entry {number}",
        message=f"was noted with {digest[:12]} and {now}: the past was changed",
        rule="noted",
        severity="error",
    )
    return replace(found, problems=(*found.problems, problem))


def _noted(text: str) -> tuple[int, str]:
    if not text.strip():
        return 0, ""
    number, _, digest = text.strip().partition(":")
    good = (
        number.isascii()
        and number.isdigit()
        and 12 <= len(digest) <= 64
        and set(digest) <= set("0123456789abcdef")
    )
    if not good or len(number) > 9:
        raise BadInput(
            f"'{text[:80]}' is no noted entry",
            hint="write NUMBER:HASH as audit printed it, such as 412:9f86d081884c",
        )
    return int(number), digest


def backup(desk: Desk, folder: Path | None, keep: int | None) -> Backup:
    """Back the ledger up into a folder, `backups` in the shop unless told, and read it back.

    How far it goes is noted beside it and among the shop's own backups, for the next audit; only
    beside it where the shop lies on a disk that cannot be written to.
    """
    from soapstock.ledger.keep.backup import backup as make

    usual = desk.shop.folder / BACKUPS
    done = make(desk.ledger, folder or usual, now=desk.now, keep=keep)
    note(done.path.parent, "backup", done, desk.now)
    if usual != done.path.parent and os.access(desk.shop.folder, os.W_OK):
        note(usual, "backup", done, desk.now)
    return done


def backups(folder: Path) -> list[Path]:
    """The backups of a folder, newest first."""
    from soapstock.ledger.keep.backup import backups as listed

    return listed(folder)


def restore(shop_folder: Path, path: Path, *, now: datetime, force: bool) -> Backup:
    """Put a backup in place of the shop's ledger; today's is backed up first.

    Args:
        shop_folder: the shop's folder.
        path: the backup; a bare name is looked for among the shop's backups too.
        now: instant, UTC.
        force: even over newer entries, or a ledger that cannot be read.
    """
    from soapstock.ledger.keep.backup import restore as put_back

    among = shop_folder / BACKUPS / path.name
    chosen = among if not path.exists() and path.name == str(path) and among.exists() else path
    done = put_back(chosen, load_shop(shop_folder).database_url, now=now, force=force)
    note(shop_folder / BACKUPS, "restore", done, now)
    return done


def move_to(desk: Desk, url: str) -> Copied:
    """Copy the shop's ledger to another database, prove the copy equal, and close the old one."""
    from soapstock.ledger.keep.transfer import move_to as move

    return move(desk.ledger, url, desk.stamp())


def setting_for(url: str) -> str:
    """The line of shop.toml that makes a database the shop's; a password is left for the maker."""
    from soapstock.ledger.base.engine import parse_url, shown, sqlite_path

    parsed = parse_url(url)
    path = sqlite_path(parsed)
    value = f"sqlite:///{path.absolute()}" if path is not None else shown(parsed)
    return f'database = "{value}"'


def migrate(shop_folder: Path, *, now: datetime) -> Upgraded:
    """Bring the shop's ledger to this program's schema, after a backup."""
    from soapstock.ledger.keep.migrate import upgrade

    return upgrade(load_shop(shop_folder).database_url, shop_folder / BACKUPS, now=now)
