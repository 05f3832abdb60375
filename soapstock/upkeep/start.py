"""Starting a shop: the folder, shop.toml and an empty ledger."""

from __future__ import annotations

import shutil
from pathlib import Path

from soapstock.errors import BadInput, RuleBroken, SoapstockError
from soapstock.exchange.text_file import write_text_file
from soapstock.shop import SHOP_FILE, Shop, load_shop, shop_text


def start_shop(shop: Shop) -> Shop:
    """Make a shop's folder with shop.toml and an empty ledger, whole or not at all.

    One that was cut off between the two (a power cut) is finished when the same is asked again.

    Raises:
        RuleBroken: the folder already holds a shop.
        BadInput: the folder cannot be made or written.
    """
    from soapstock.ledger.keep.migrate import create

    folder = shop.folder
    if (folder / SHOP_FILE).exists() and not _cut_off(shop):
        raise RuleBroken(f"{folder} already holds a shop", hint="choose another folder")
    existed = folder.is_dir()
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as err:
        raise BadInput(f"cannot make {folder} ({err.strerror or err})") from err
    if (folder / "ledger.db").exists():
        raise RuleBroken(f"{folder} holds a ledger.db without shop.toml", hint="move it away first")
    try:
        write_text_file(folder / SHOP_FILE, shop_text(shop), ".toml")
        made = load_shop(folder)
        create(made.database_url)
    except SoapstockError:
        _clear(folder, existed=existed)
        raise
    return made


def _cut_off(shop: Shop) -> bool:
    """Whether the folder holds this very shop.toml and nothing was ever entered."""
    try:
        same = (shop.folder / SHOP_FILE).read_text(encoding="utf-8") == shop_text(shop)
    except (OSError, UnicodeDecodeError):
        return False
    others = {path.name for path in shop.folder.iterdir() if not path.name.startswith(".new-")}
    return same and others == {SHOP_FILE}


def _clear(folder: Path, *, existed: bool) -> None:
    if not existed:
        shutil.rmtree(folder, ignore_errors=True)
        return
    for name in (SHOP_FILE, "ledger.db", "ledger.db-wal", "ledger.db-shm"):
        (folder / name).unlink(missing_ok=True)
