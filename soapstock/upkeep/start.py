"""Starting a shop: the folder, shop.toml and an empty ledger."""

from __future__ import annotations

import fcntl
import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from soapstock.errors import BadInput, RuleBroken, SoapstockError
from soapstock.exchange.text_file import write_text_file
from soapstock.outfile import MARK
from soapstock.shop import SHOP_FILE, Shop, load_shop, shop_text


def start_shop(shop: Shop) -> Shop:
    """Make a shop's folder with shop.toml and an empty ledger, whole or not at all.

    One that was cut off between the two (a power cut) is finished when the same is asked again.

    Raises:
        RuleBroken: the folder already holds a shop.
        BadInput: the folder cannot be made or written.
    """
    existed = shop.folder.is_dir()
    with alone_in(shop.folder):
        return _start_alone(shop, existed=existed)


def _start_alone(shop: Shop, *, existed: bool) -> Shop:
    from soapstock.ledger.keep.migrate import create

    folder = shop.folder
    if (folder / SHOP_FILE).exists() and not _cut_off(shop):
        raise RuleBroken(f"{folder} already holds a shop", hint="choose another folder")
    if (folder / "ledger.db").exists():
        raise RuleBroken(f"{folder} holds a ledger.db without shop.toml", hint="move it away first")
    try:
        write_text_file(folder / SHOP_FILE, shop_text(shop), ".toml")
        made = load_shop(folder)
        create(made.database_url)
    except SoapstockError:
        clear(folder, existed=existed)
        raise
    return made


@contextmanager
def alone_in(folder: Path) -> Iterator[None]:
    """Make a folder and hold it: of several starts at once, one at a time is inside.

    Raises:
        BadInput: the folder cannot be made.
    """
    try:
        while True:
            folder.mkdir(parents=True, exist_ok=True)
            handle = os.open(folder, os.O_RDONLY)
            fcntl.flock(handle, fcntl.LOCK_EX)
            if folder.is_dir() and os.path.samestat(os.fstat(handle), folder.stat()):
                break
            os.close(handle)  # the one before failed, and took its folder away
    except OSError as err:
        raise BadInput(f"cannot make {folder} ({err.strerror or err})") from err
    try:
        yield
    finally:
        os.close(handle)


def _cut_off(shop: Shop) -> bool:
    """Whether the folder holds this very shop.toml and nothing was ever entered."""
    try:
        same = (shop.folder / SHOP_FILE).read_text(encoding="utf-8") == shop_text(shop)
    except (OSError, UnicodeDecodeError):
        return False
    others = {path.name for path in shop.folder.iterdir() if not path.name.startswith(MARK)}
    return same and others == {SHOP_FILE}


def clear(folder: Path, *, existed: bool) -> None:
    """Take away what was begun of a shop; the folder too unless it was there before."""
    if not existed:
        shutil.rmtree(folder, ignore_errors=True)
        return
    (folder / SHOP_FILE).unlink(missing_ok=True)  # a ledger that failed was never there
