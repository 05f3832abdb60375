"""The whole shop as files that any program reads, and a shop made of such files again."""

from __future__ import annotations

import json
import os
import re
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from soapstock import __version__
from soapstock.errors import BadInput, RuleBroken, SoapstockError, cannot_write
from soapstock.exchange.table_csv import read_table, write_table
from soapstock.exchange.text_file import read_text_file, write_text_file
from soapstock.outfile import work_folder
from soapstock.shop import SHOP_FILE, load_shop

if TYPE_CHECKING:
    from soapstock.desk.desk import Desk
    from soapstock.ledger.read.reader import Reader

HEAD = "handed-over.json"
ABOUT = "READ-ME.txt"
_WORDS = """\
This folder is a whole soap maker's ledger, written out by soapstock {version}.

  shop.toml           the shop's settings
  recipes/            every version of every recipe, as CODE-VERSION.toml
  ledger/             one CSV file for each table (RFC 4180, UTF-8)
  columns.csv         what each column holds, and whether it may be empty
  handed-over.json    how many entries there are, and the hash of the last one

Masses are whole milligrams, money is whole cents, days are local, instants are UTC. Every row names
the entry that holds it; an entry that another one undoes counts no more. Postings say what came to
a place (above zero) or left it, and each entry's postings of a lot sum to zero. One apostrophe at
the beginning of a text only keeps spreadsheets from running it: take it off.

The program takes this folder in as a new shop, and proves by the hashes that it is the same.
The files name customers: they are for nobody else's eyes. Lye weights stand in recipes and pours:
lye burns; nothing here replaces the cautions that soapstock prints with them.
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class HandedOver:
    """What was written, or read: entries, rows of all tables, recipes, hash of the last entry."""

    entries: int
    rows: int
    recipes: int
    head_hash: str


def hand_over(desk: Desk, folder: Path) -> HandedOver:
    """Write the shop's settings, recipes and every table of its ledger into a new folder.

    Args:
        folder: it must not be there yet, or be empty; it appears whole or not at all.

    Raises:
        BadInput: something is in the folder, or it cannot be written.
    """
    target = folder.resolve()
    try:
        if target.exists() and (not target.is_dir() or any(target.iterdir())):
            raise BadInput(f"{folder} is there and not empty", hint="name a new folder")
        target.parent.mkdir(parents=True, exist_ok=True)
    except OSError as err:
        raise cannot_write(folder, err) from err
    with desk.reading() as (_, reader), work_folder(target.parent) as work:
        made = work / "made"
        made.mkdir(mode=0o700)
        done = _write(reader, desk.shop.folder, made)
        try:
            os.replace(made, target)
        except OSError as err:
            raise cannot_write(folder, err) from err
    return done


def _write(reader: Reader, shop_folder: Path, made: Path) -> HandedOver:
    from soapstock.ledger.keep.as_text import columns_told, tables_as_text

    (made / "ledger").mkdir()
    (made / "recipes").mkdir()
    rows = sum(
        write_table(made / "ledger" / f"{name}.csv", names, cells)
        for name, names, cells in tables_as_text(reader)
    )
    columns = (
        {"table": c.table, "column": c.column, "holds": c.holds, "empty": "may be" * c.may_be_empty}
        for c in columns_told()
    )
    write_table(made / "columns.csv", ["table", "column", "holds", "empty"], columns)
    versions = reader.recipe_versions()
    for one in versions:
        write_text_file(made / "recipes" / f"{one.code}-{one.version}.toml", one.text, ".toml")
    settings = read_text_file(shop_folder / SHOP_FILE, "the shop's settings")
    write_text_file(made / SHOP_FILE, _own_database(settings), ".toml")
    entries, head = reader.head()
    facts = {"made_by": "soapstock", "version": __version__, "entries": entries, "head": head}
    write_text_file(made / HEAD, json.dumps(facts, indent=2) + "\n", ".json")
    write_text_file(made / ABOUT, _WORDS.format(version=__version__), ".txt")
    return HandedOver(entries=entries, rows=rows, recipes=len(versions), head_hash=head)


def _own_database(settings: str) -> str:
    """The settings with a ledger in the shop's own folder: no server or password goes along."""
    return re.sub(r"(?m)^\s*database\s*=.*$", 'database = "ledger.db"', settings)


def is_handed_over(folder: Path) -> bool:
    """Whether a folder was written by `hand_over`."""
    return (folder / HEAD).is_file()


def take_over(folder: Path, into: Path) -> HandedOver:
    """Make a shop of what was handed over, and prove that its ledger is the same.

    Args:
        into: the new shop's folder: not there yet, or empty.

    Raises:
        BadInput: a file is missing or cannot be read.
        RuleBroken: there is a shop in the way.
        StoreError: what is given is not the whole ledger.
    """
    from soapstock.ledger.keep.as_text import rebuild
    from soapstock.upkeep.start import alone_in, clear

    entries, head = _head_of(folder)
    settings = read_text_file(folder / SHOP_FILE, "the shop's settings")
    existed = into.is_dir()
    with alone_in(into):
        for name in (SHOP_FILE, "ledger.db"):
            if (into / name).exists():
                raise RuleBroken(f"{into} already holds a {name}", hint="choose another folder")
        try:
            write_text_file(into / SHOP_FILE, _own_database(settings), ".toml")
            tables = {path.stem: read_table(path) for path in (folder / "ledger").glob("*.csv")}
            rows = rebuild(load_shop(into).database_url, tables, (entries, head))
        except SoapstockError:
            clear(into, existed=existed)
            raise
    recipes = len(list((folder / "recipes").glob("*.toml")))
    return HandedOver(entries=entries, rows=rows, recipes=recipes, head_hash=head)


def _head_of(folder: Path) -> tuple[int, str]:
    try:
        told = json.loads(read_text_file(folder / HEAD, "what was handed over"))
        return int(told["entries"]), str(told["head"])
    except (ValueError, KeyError, TypeError):
        raise BadInput(f"{folder / HEAD} does not say how far the ledger goes") from None
