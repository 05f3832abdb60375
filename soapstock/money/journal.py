"""The shop's money as a journal: every line has an account that takes and one that gives.

So each line is balanced, and the whole is. Cost is followed as in flow.py and told as it is known
at the end of the span: what is spent on a lot later is shared by all its bars, sold ones as well.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Literal, cast, get_args

from soapstock.codes.lot import LotCode
from soapstock.money.book import Book, Rows
from soapstock.money.flow import Step
from soapstock.tables import read_toml

AccountKind = Literal["asset", "liability", "equity", "income", "expense"]
STANDING = ("asset", "liability", "equity")  # what is carried into the next span
PUT_IN = {"bought": "suppliers", "own fat": "own_fat", "work": "own_work"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Account:
    """An account: its key with us, its number and name as printed, its kind, what it holds."""

    key: str
    name: str
    kind: AccountKind
    holds: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """An amount that one account takes (debit) and another gives (credit), in cents above zero.

    Attributes:
        entry: of the ledger; 0 for what was brought forward.
        lot: the lot it is about, by its number; 0 for none.
        text, document, customer, place: in words, for the reader.
    """

    on: date
    entry: int
    debit: str
    credit: str
    cents: int
    currency: str
    text: str
    lot: int = 0
    document: str = ""
    customer: str = ""
    place: str = ""


def chart(names: Mapping[str, str]) -> tuple[Account, ...]:
    """The accounts in their order, with the shop's own names for some."""
    return tuple(
        Account(
            key=key,
            name=names.get(key, row["name"]),
            kind=cast("AccountKind", row["kind"]),
            holds=row["holds"],
        )
        for key, row in read_toml("money/accounts.toml")["accounts"].items()
        if row["kind"] in get_args(AccountKind)
    )


def line(*, cents: int, debit: str, credit: str, **told: object) -> Iterator[Line]:
    """The line of an amount: none of nothing, and one below zero goes the other way."""
    if cents < 0:
        cents, debit, credit = -cents, credit, debit
    if cents and debit != credit:
        yield Line(cents=cents, debit=debit, credit=credit, **told)  # type: ignore[arg-type]


def stock_lines(book: Book, rows: Rows, currency: str) -> list[Line]:
    """What every lot cost itself, where its cost went, and what was spent on no lot."""
    found: list[Line] = []
    recorded: dict[tuple[int, str], int] = defaultdict(int)
    for spent in rows.spent:
        if not spent.cents or spent.currency != currency:
            continue
        into = "running" if spent.lot is None else _shelf(book, spent.lot)
        if spent.lot is not None:
            recorded[spent.lot, spent.what] += spent.cents
        found += line(
            cents=spent.cents,
            debit=into,
            credit="suppliers",
            on=spent.on,
            entry=spent.entry,
            currency=currency,
            text=f"{spent.what}: {spent.note}" if spent.note else spent.what,
            lot=spent.lot or 0,
        )
    for number, own in book.own.items():
        for what, cents in own.items():
            found += line(
                cents=cents - recorded[number, what],
                debit=_shelf(book, number),
                credit=PUT_IN.get(what, "reckoned"),
                on=book.lots[number].on,
                entry=number,
                currency=currency,
                text=what if what in PUT_IN else f"{what}, by the shop's setting",
                lot=number,
            )
    for number, money in book.money.items():
        for step, cents in money.went:
            found += line(
                cents=cents,
                debit=_shelf(book, step.into) if step.way == "lot" else step.way,
                credit=_shelf(book, number),
                on=book.on[step.entry],
                entry=step.entry,
                currency=currency,
                text=_went(book, step),
                lot=number,
            )
    return found


def _shelf(book: Book, lot: int) -> str:
    """The account that a lot lies in."""
    return "soap" if book.lots[lot].kind == "batch" else "materials"


def _went(book: Book, step: Step) -> str:
    if step.way == "lot":
        return f"{book.lots[step.lot].item} into {LotCode(book.lots[step.into].code).shown}"
    return f"cost of {book.lots[step.lot].item} {step.way}"


def from_day(lines: Iterable[Line], first: date, kinds: Mapping[str, AccountKind]) -> list[Line]:
    """The lines from a day on, by day and entry, after what was brought forward to it.

    Income and cost of the days before are in what was brought forward, on no account of their own.
    """
    kept = []
    before: dict[tuple[str, str], int] = defaultdict(int)
    for one in lines:
        if one.on >= first:
            kept.append(one)
            continue
        before[one.debit, one.currency] += one.cents
        before[one.credit, one.currency] -= one.cents
    opened = [
        forward
        for (key, currency), cents in before.items()
        if kinds[key] in STANDING
        for forward in line(
            cents=cents,
            debit=key,
            credit="opening",
            on=first,
            entry=0,
            currency=currency,
            text="brought forward",
        )
    ]
    return sorted([*opened, *kept], key=lambda one: (one.on, one.entry))


def sums(lines: Iterable[Line]) -> dict[tuple[str, str], tuple[int, int]]:
    """What each account took and gave, in cents, by account and currency."""
    found: dict[tuple[str, str], list[int]] = defaultdict(lambda: [0, 0])
    for one in lines:
        found[one.debit, one.currency][0] += one.cents
        found[one.credit, one.currency][1] += one.cents
    return {key: (took, gave) for key, (took, gave) in found.items()}
