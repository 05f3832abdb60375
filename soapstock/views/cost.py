"""What a lot cost: what went into it, its own cost, and what a bar of it carries."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import ROUND_HALF_EVEN, Decimal
from typing import Any

from soapstock.codes.lot import LotCode
from soapstock.desk.desk import Desk, one_snapshot
from soapstock.desk.finding import read_lot
from soapstock.ledger.read.reader import Reader
from soapstock.money.book import Book, Rows, keep_book
from soapstock.money.share import amount
from soapstock.units import g_from_mg, kilograms, several

OWN_WORDS = {
    "bought": "as bought",
    "own fat": "own fat, as the shop counts it",
    "work": "work",
    "packing": "packing",
    "energy": "energy",
    "fees": "fees",
    "other": "other",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class CostLine:
    """One part of a lot's cost: from a lot, or of its own.

    Attributes:
        used: how much of that lot, in words; empty for a cost of its own.
        cents: None where nobody knows.
    """

    name: str
    lot_code: LotCode | None
    used: str
    used_g: Decimal | None
    cents: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class CostSheet:
    """What a lot cost.

    Attributes:
        pieces: bars that carry the cost, or grams of an ingredient lot; 0 before there are bars.
        minutes: work on a batch.
        unknown: lots whose cost nobody wrote down, in words: the sum lacks them.
    """

    lot_code: LotCode
    kind: str
    item: str
    lines: tuple[CostLine, ...]
    cents: int
    pieces: Decimal
    minutes: Decimal
    unknown: tuple[str, ...]
    currency: str

    @property
    def per_piece(self) -> Decimal | None:
        """Cost of a bar, or of a kilogram, half a cent to even; None without any."""
        if not self.pieces:
            return None
        of = self.pieces if self.kind == "batch" else kilograms(self.pieces)
        return (amount(self.cents) / of).quantize(Decimal("0.01"), rounding=ROUND_HALF_EVEN)


def book_of(desk: Desk, reader: Reader, day: date | None = None, rows: Rows | None = None) -> Book:
    """The shop's costs, followed up to a day; to the desk's own unless given."""
    every = rows if rows is not None else reader.cost_rows(day or desk.today)
    return keep_book(every, desk.shop.costs, desk.shop.currency)


def bar_costs(desk: Desk, reader: Reader) -> dict[str, float]:
    """What a good bar of each recipe cost over its batches of known cost, in the shop's money."""
    book = book_of(desk, reader)
    cents: dict[str, int] = defaultdict(int)
    bars: dict[str, int] = defaultdict(int)
    for lot in book.flowed:
        money = book.money[lot.id]
        if lot.id in book.made and lot.pieces > 0 and not money.unknown:
            cents[book.lots[lot.id].item] += money.cents
            bars[book.lots[lot.id].item] += lot.pieces
    return {code: cents[code] / 100 / n for code, n in bars.items()}


def unknown_words(book: Book, lots: Iterable[int]) -> tuple[str, ...]:
    """Lots of which nobody knows the cost, as `beef-tallow BEE-26230-AC`."""
    found = (book.lots[lot] for lot in sorted(lots))
    return tuple(f"{one.item} {LotCode(one.code).shown}" for one in found)


@one_snapshot
def cost_of(desk: Desk, lot: str) -> CostSheet:
    """What a lot cost, batch or ingredient.

    Raises:
        BadInput, NotFound: no such lot.
    """
    code = read_lot(desk, lot)
    with desk.ledger.read() as reader:
        book = book_of(desk, reader)
    number = next(n for n, one in book.lots.items() if one.code == code)
    row, money = book.lots[number], book.money[number]
    flowed = next(one for one in book.flowed if one.id == number)
    lines = [_used(book, step, cents) for step, cents in money.came]
    lines += [
        CostLine(
            name=OWN_WORDS[what],
            lot_code=None,
            used=_worked(book, number, what),
            used_g=None,
            cents=cents,
        )
        for what, cents in book.own[number].items()
    ]
    batch = row.kind == "batch"
    carrying = number in book.made or not batch
    return CostSheet(
        lot_code=code,
        kind=row.kind,
        item=row.item,
        lines=tuple(lines),
        cents=money.cents,
        pieces=(Decimal(flowed.pieces) if batch else g_from_mg(flowed.pieces))
        if carrying
        else Decimal(0),
        minutes=book.minutes.get(number, Decimal(0)),
        unknown=unknown_words(book, money.unknown),
        currency=desk.shop.currency,
    )


def _used(book: Book, step: Any, cents: int) -> CostLine:
    source = book.lots[step.lot]
    batch = source.kind == "batch"
    used_g = None if batch else g_from_mg(step.quantity)
    known = not book.money[step.lot].unknown
    return CostLine(
        name=source.item,
        lot_code=LotCode(source.code),
        used=several(step.quantity, "bar") if batch else f"{used_g:.0f} g",
        used_g=used_g,
        cents=cents if known or cents else None,
    )


def _worked(book: Book, number: int, what: str) -> str:
    minutes = book.minutes.get(number, Decimal(0))
    return f"{minutes.normalize():f} min" if what == "work" and minutes else ""


@dataclass(frozen=True, slots=True, kw_only=True)
class CostPartRow:
    """One part of a lot's cost; `cost` is None where nobody knows."""

    ingredient: str
    lot: LotCode | None
    used_g: Decimal | None
    cost: Decimal | None


@dataclass(frozen=True, slots=True, kw_only=True)
class CostRow:
    """What a lot cost, in `currency`: a batch by the bar, an ingredient lot by the kilogram."""

    lot: LotCode
    currency: str
    parts: tuple[CostPartRow, ...]
    total: Decimal
    bars: int | None
    per_bar: Decimal | None
    per_kg: Decimal | None
    minutes: Decimal
    unknown: tuple[str, ...]


def cost_row(sheet: CostSheet) -> CostRow:
    """The cost of a lot as a record."""
    batch = sheet.kind == "batch"
    return CostRow(
        lot=sheet.lot_code,
        currency=sheet.currency,
        parts=tuple(
            CostPartRow(
                ingredient=line.name,
                lot=line.lot_code,
                used_g=line.used_g,
                cost=None if line.cents is None else amount(line.cents),
            )
            for line in sheet.lines
        ),
        total=amount(sheet.cents),
        bars=int(sheet.pieces) if batch else None,
        per_bar=sheet.per_piece if batch else None,
        per_kg=None if batch else sheet.per_piece,
        minutes=sheet.minutes,
        unknown=sheet.unknown,
    )
