"""One shop, its open ledger, the day and the person: what every action is given."""

from __future__ import annotations

import functools
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Concatenate, ParamSpec, TypeVar

from soapstock.chemistry.fats import own_fats, use_own_fats
from soapstock.desk.own_fats_file import load_own_fats
from soapstock.errors import BadInput, Mend
from soapstock.ledger.facts import Stamp
from soapstock.shop import Shop, load_shop
from soapstock.units import say_pounds_too

if TYPE_CHECKING:
    from soapstock.ledger.read.reader import Reader
    from soapstock.ledger.store import Ledger
    from soapstock.ledger.write.writer import Writer


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
        day = on or self.today
        if day > self.today:
            raise BadInput(
                f"{day.isoformat()} is in the future (today is {self.today.isoformat()})",
                hint="give the day it happened; nothing was written",
            )
        if not self.by.strip():
            raise BadInput("nobody is named for this entry", mend=Mend("name_person"))
        return Stamp(
            happened_on=day,
            entered_at=self.now,
            by=self.by,
            note=note,
            client_key=self.key,
            client_said=self.said,
        )

    @contextmanager
    def reading(self) -> Iterator[tuple[Desk, Reader]]:
        """This desk for one question, and its reader: whatever is asked sees one snapshot."""
        with self.ledger.snapshot() as ledger, ledger.read() as reader:
            yield replace(self, ledger=ledger), reader

    @contextmanager
    def writing(self) -> Iterator[tuple[Desk, Writer]]:
        """This desk for one entry, and its writer: nobody writes between reading and writing.

        All is saved at the end of the `with`, or nothing.
        """
        with self.ledger.transaction() as ledger, ledger.write() as writer:
            yield replace(self, ledger=ledger), writer


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
    from soapstock.ledger.store import open_ledger

    shop = load_shop(folder)
    before = own_fats()
    own = load_own_fats(folder)
    ledger = open_ledger(shop.database_url, begun=lambda: use_own_fats(own))
    say_pounds_too(shop.units == "lb")
    try:
        if key is not None:
            _refuse_again(ledger, key, said)
        yield Desk(
            shop=shop, ledger=ledger, today=today, now=now, by=by or shop.by, key=key, said=said
        )
    finally:
        ledger.close()
        use_own_fats(before)


def _refuse_again(ledger: Ledger, key: str, said: str) -> None:
    with ledger.read() as reader:
        reader.refuse_again(key, said)


P = ParamSpec("P")
R = TypeVar("R")


def one_snapshot(
    ask: Callable[Concatenate[Desk, P], R],
) -> Callable[Concatenate[Desk, P], R]:
    """Make a question that several functions answer see one moment, as `desk.reading()` does."""

    @functools.wraps(ask)
    def asked(desk: Desk, /, *args: P.args, **kwargs: P.kwargs) -> R:
        with desk.reading() as (here, _):
            return ask(here, *args, **kwargs)

    return asked


def on_day(desk: Desk, on: date | None) -> Desk:
    """The desk as of the day a fact happened: gates are judged on that day, not on today's."""
    if on is None or on >= desk.today:
        return desk
    return replace(desk, today=on)
