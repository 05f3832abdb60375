"""A desk: one shop, its open ledger, the day it is and who is working. Every action starts here."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date, datetime
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from soapstock.errors import BadInput, NotFound
from soapstock.shop import Shop, load_shop

if TYPE_CHECKING:
    from soapstock.ledger.facts import Stamp
    from soapstock.ledger.read.reader import Reader
    from soapstock.ledger.store import Ledger
    from soapstock.ledger.write.writer import Writer
    from soapstock.recipes.recipe import Recipe


@dataclass(frozen=True, slots=True, kw_only=True)
class Desk:
    """Where the maker works.

    Attributes:
        today: the local date answers are given for.
        now: the instant, UTC, that entries are stamped with.
        by: who enters facts.
        key: name the sender gave what is entered; sent twice, it counts once.
        said: SHA-256 of what the sender said under that key.
    """

    shop: Shop
    ledger: Ledger
    today: date
    now: datetime
    by: str
    key: str | None = None
    said: str = ""

    def stamp(self, on: date | None = None, note: str = "") -> Stamp:
        """The stamp of an entry: when it happened, when it is entered, by whom.

        Raises:
            BadInput: the day lies in the future, or nobody is named.
        """
        from soapstock.ledger.facts import Stamp

        day = on or self.today
        if day > self.today:
            raise BadInput(
                f"{day.isoformat()} is in the future (today is {self.today.isoformat()})",
                hint="give the day it happened; nothing was written",
            )
        if not self.by.strip():
            raise BadInput(
                "nobody is named for this entry",
                hint='add --by NAME, or set by = "your name" in shop.toml',
            )
        return Stamp(
            happened_on=day,
            happened_at=None,
            entered_at=self.now,
            by=self.by,
            note=note,
            client_key=self.key,
            client_said=self.said,
        )


@contextmanager
def open_desk(
    folder: Path,
    *,
    today: date,
    now: datetime,
    by: str = "",
    key: str | None = None,
    said: str = "",
) -> Iterator[Desk]:
    """Open a shop for work and close its ledger after.

    Args:
        folder: the shop's folder.
        today: local date.
        now: UTC instant.
        by: who works; the shop's own `by` when empty.
        key: name the sender gave what it enters, if any.
        said: SHA-256 of what the sender says under that key.

    Raises:
        AlreadyEntered: the same came under that key before.
        RuleBroken: the key was used for something else.
    """
    from soapstock.actions.fats import load_own_fats
    from soapstock.ledger.store import open_ledger

    shop = load_shop(folder)
    load_own_fats(folder)
    ledger = open_ledger(shop.database_url)
    try:
        if key is not None:
            _refuse_again(ledger, key, said)
        yield Desk(
            shop=shop, ledger=ledger, today=today, now=now, by=by or shop.by, key=key, said=said
        )
    finally:
        ledger.close()


def _refuse_again(ledger: Ledger, key: str, said: str) -> None:
    from soapstock.ledger.write.client_keys import already_entered, entry_of_key

    with ledger.read() as reader:
        seen = entry_of_key(reader.db, key, said)
        if seen is not None:
            raise already_entered(reader.db, seen)


@cache
def parsed_recipe(text: str, where: str) -> Recipe:
    """The recipe of a stored text; parsed once."""
    from soapstock.recipes.recipe import parse_recipe

    return parse_recipe(text, where)


def read_lot(desk: Desk, text: str, *, kind: str | None = None) -> str:
    """The compact lot code of what was typed or scanned, known to this ledger.

    Args:
        text: a lot code in any form, or a scanned link.
        kind: `batch` or `ingredient` when only one will do.

    Raises:
        BadInput: the check character is wrong; near lots are offered.
        NotFound: well formed, but no such lot here; near lots are offered.
    """
    from soapstock.codes.lot import format_code, near_codes
    from soapstock.codes.reading import read_code

    with desk.ledger.read() as reader:
        try:
            code = read_code(text)
        except BadInput as err:
            near = near_codes(text, reader.all_lot_codes())
            hint = _offer([format_code(c) for c in near]) or err.hint
            raise BadInput(err.message, hint=hint) from None
        found = reader.lot_kind(code)
        if found is None or (kind is not None and found != kind):
            near = near_codes(code, reader.all_lot_codes(), n=8)
            near = [c for c in near if kind in (None, reader.lot_kind(c))][:3]
            what = "lot" if kind is None or found is None else f"{kind} lot"
            message = f"no {what} {format_code(code)} in this ledger"
            if found is not None:
                message = f"{format_code(code)} is not a {kind} lot but a lot of {found}"
            raise NotFound(message, hint=_offer([format_code(c) for c in near]))
    return code


_CODE = re.compile(r"\b[A-Z]{2,4}[0-9]{5}[A-Z][0-9A-Z]\b")


def with_hyphens(text: str) -> str:
    """The text with every compact lot code in it written in groups."""
    from soapstock.codes.lot import format_code

    return _CODE.sub(lambda found: format_code(found[0]), text)


def _offer(codes: list[str]) -> str:
    return f"did you mean {' or '.join(codes)}?" if codes else "soapstock lots lists what is here"


def free_lot_code(book: Reader | Writer, product: str, day: date) -> str:
    """A lot code that no lot ever had.

    Asked inside the write transaction that takes it, no two get the same.
    """
    from soapstock.codes.lot import make_lot_code, next_letter
    from soapstock.ledger.read.as_of import codes_ever_used
    from soapstock.ledger.read.reader import Reader

    letter = next_letter(codes_ever_used(Reader(book.db)), product, day)
    return make_lot_code(product, day, letter)


def find_recipe(reader: Reader, code: str, version: int | None = None) -> tuple[Recipe, int]:
    """A stored recipe and its version. Raises NotFound with the codes that are here."""
    wanted = code.strip().upper()
    try:
        stored = reader.recipe(wanted, version)
    except NotFound:
        known = ", ".join(sorted(r.code for r in reader.recipes())) or "none yet"
        raise NotFound(
            f"no recipe {wanted}" + (f" version {version}" if version else ""),
            hint=f"recipes here: {known}; add one with: soapstock recipe add FILE.toml",
        ) from None
    return parsed_recipe(stored.text, f"recipe {stored.code}"), stored.version
