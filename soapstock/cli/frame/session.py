"""What every command shares: the shop chosen, the day it is, who works, and common options."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass, field
from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from soapstock.cli.frame.output import harmless
from soapstock.errors import BadInput, SoapstockError
from soapstock.units import read_best_before, read_day

if TYPE_CHECKING:
    from soapstock.desk.desk import Desk
    from soapstock.ledger.store import Ledger


@dataclass(frozen=True, slots=True, kw_only=True)
class Session:
    """The options given before the command's name."""

    shop: Path | None
    today: date
    by: str
    debug: bool = False
    key: str | None = None
    ledgers: list[Ledger] = field(default_factory=list)


ASKED: ContextVar[Session | None] = ContextVar("asked", default=None)  # the command at work
FIRST_YEAR, LAST_YEAR = 1950, 2199  # what lies outside is a slip; sums of days stay possible


def parse_day(text: str, what: str = "date", read: Callable[..., date] = read_day) -> date:
    """A day such as 2026-11-25, or as the shop writes its days; one that a shop can see.

    Raises:
        BadInput: it is none.
    """
    try:
        try:
            day = read(text)
        except ValueError:
            day = read(text, _order_of_days())
    except ValueError:
        raise BadInput(f"{what} '{text}' is not a day", hint="write it like 2026-11-25") from None
    if not FIRST_YEAR <= day.year <= LAST_YEAR:
        raise BadInput(f"{what} '{text}' is not of these times", hint="look at the year")
    return day


def _order_of_days() -> str:
    """How the shop at hand writes its days, where there is one."""
    from soapstock.shop import find_shop_folder, load_shop

    asked = ASKED.get()  # nothing yet while the option --today is read
    named = asked.shop if asked is not None else None
    try:
        return load_shop(find_shop_folder(named, os.environ.get("SOAPSTOCK_SHOP"), Path.cwd())).days
    except SoapstockError:
        return "iso"


def local_today() -> date:
    """The day it is where the maker works."""
    return datetime.now().astimezone().date()


def session(ctx: typer.Context) -> Session:
    """The session of a command."""
    found = ctx.find_root().obj
    if not isinstance(found, Session):
        raise TypeError("command run outside the soapstock frame")
    return found


def best_before_or_none(text: str | None) -> date | None:
    """A best-before option as a date: a day, or the last of a month; None when it was not given."""
    return parse_day(text, "--best-before", read_best_before) if text is not None else None


def day_or_none(text: str | None, what: str = "--on") -> date | None:
    """A day option as a date, or None when it was not given."""
    return parse_day(text, what) if text is not None else None


def check_range(what: str, number: int | None, least: int, most: int) -> None:
    """Refuse a number that an option cannot mean.

    Raises:
        BadInput: it is under `least` or over `most`.
    """
    if number is not None and not least <= number <= most:
        raise BadInput(f"{what} {number} cannot be", hint=f"give {least} to {most}")


def shop_folder(ctx: typer.Context) -> Path:
    """The shop's folder this command works on."""
    from soapstock.shop import find_shop_folder

    return find_shop_folder(session(ctx).shop, os.environ.get("SOAPSTOCK_SHOP"), Path.cwd())


@contextmanager
def desk(ctx: typer.Context) -> Iterator[Desk]:
    """Open the shop for a command."""
    from soapstock.desk.desk import open_desk

    chosen = session(ctx)
    with open_desk(
        shop_folder(ctx),
        today=chosen.today,
        now=datetime.now(UTC),
        by=chosen.by,
        key=chosen.key,
        said=what_was_said(ctx) if chosen.key is not None else "",
    ) as opened:
        chosen.ledgers.append(opened.ledger)
        _tell_moved(opened)
        yield opened


def _tell_moved(opened: Desk) -> None:
    """Say on standard error that a ledger is an old one, closed when it went elsewhere."""
    with opened.ledger.read() as reader:
        moved = reader.moved()
    if moved is not None:
        what = harmless(f"this ledger {moved}; what was entered since is not in it")
        sys.stderr.write(f"soapstock: {what}\n")


# options that name a file to read
READ = {"mapping", "listed", "picture", "certificate", "private_key"}


def what_was_said(ctx: typer.Context) -> str:
    """SHA-256 of a command's words, with the bytes of the files it is to read.

    The day it runs on is left out, so that what is sent again after midnight is still the same.
    """
    import hashlib

    names = []
    node: Any = ctx
    while node.parent is not None:
        names.append(node.info_name)
        node = node.parent
    given = READ | {p.name for p in ctx.command.params if p.param_type_name == "argument"}
    words: list[object] = [names, session(ctx).by]
    for name, value in sorted(ctx.params.items()):
        words.append((name, str(value) if isinstance(value, Path) else value))
        if name in given and isinstance(value, Path) and value.is_file():
            with value.open("rb") as file:
                words.append(hashlib.file_digest(file, "sha256").hexdigest())
    return hashlib.sha256(repr(words).encode("utf-8", "replace")).hexdigest()


def _offers(codes_in: Callable[[Desk], list[str]]) -> Callable[..., list[str]]:
    """What the shell offers for a code that is being typed; on any error it offers nothing."""

    def offers(ctx: typer.Context, incomplete: str) -> list[str]:
        root = ctx.find_root()
        root.obj = Session(shop=root.params.get("shop"), today=local_today(), by="")
        try:
            with desk(ctx) as opened:
                codes = codes_in(opened)
        except Exception:
            return []
        return [offer for code in codes if (offer := _ending(code, incomplete)) is not None]

    return offers


def _ending(code: str, typed: str) -> str | None:
    """The typed beginning of a code with its end, as a shell offers only what begins as typed."""
    from soapstock.codes.lot import compact

    for length in range(len(code) + 1):
        if compact(code[:length]) == compact(typed):
            rest = code[length:]
            return typed + (rest.lstrip("-") if typed.endswith("-") else rest)
    return None


def _lots_in(opened: Desk) -> list[str]:

    with opened.ledger.read() as reader:
        return [code.shown for code in reader.all_lot_codes()]


def _recipes_in(opened: Desk) -> list[str]:
    with opened.ledger.read() as reader:
        return [recipe.code for recipe in reader.recipes()]


offer_lots = _offers(_lots_in)
offer_recipes = _offers(_recipes_in)

AsJson = Annotated[bool, typer.Option("--json", help="Print JSON instead of a table.")]
AsCsv = Annotated[bool, typer.Option("--csv", help="Print CSV instead of a table.")]
On = Annotated[
    str | None, typer.Option("--on", metavar="DATE", help="Day it happened; today unless given.")
]
Note = Annotated[str, typer.Option("--note", help="A remark kept with the entry.")]
Why = Annotated[str, typer.Option("--why", help="The reason, kept with the entry.")]
Lot = Annotated[
    str,
    typer.Argument(metavar="LOT", help="Lot code, typed or scanned.", autocompletion=offer_lots),
]
From = Annotated[
    str | None, typer.Option("--from", metavar="PLACE", help="Place the quantity is taken from.")
]
