"""A span of days on one page: what was made, where it went, what it cost and earned."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Literal

from soapstock.codes.lot import LotCode
from soapstock.desk.desk import Desk, one_snapshot
from soapstock.errors import BadInput
from soapstock.ledger.read.money import Traded, Wasted
from soapstock.money.book import Book, Rows
from soapstock.money.flow import balance
from soapstock.money.share import amount
from soapstock.views.animals import AnimalRow, accounts
from soapstock.views.cost import book_of, unknown_words
from soapstock.views.worth import Sold, Sum, earned_an_hour, sold_of

AGES = ((28, "under 4 weeks"), (84, "4 to 12 weeks"), (366 * 50, "over 12 weeks"))
METHOD = "each lot at its own cost; nothing is written down to what it would fetch"


@dataclass(frozen=True, slots=True, kw_only=True)
class BarsRow:
    """Bars of one way in the span, and what they cost; ingredients thrown away count in cost."""

    way: str
    bars: int
    cost: Decimal | None


@dataclass(frozen=True, slots=True, kw_only=True)
class YieldRow:
    """What came of what went in, percent: fat of raw fat, good bars of all out of the mould."""

    of: str
    went_in: str
    came_out: str
    percent: float


@dataclass(frozen=True, slots=True, kw_only=True)
class BreakRow:
    """Bars thrown away after the mould, by age and by whether they stood packed on a shelf.

    `percent` is of all good bars out of the mould in the span.
    """

    age: str
    stood: str
    bars: int
    percent: float


@dataclass(frozen=True, slots=True, kw_only=True)
class MonthRow:
    """What was sold in a month to one state or place."""

    month: str
    place: str
    bars: int
    goods: Decimal
    postage: Decimal
    tax: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class StockRow:
    """What lies here at the end of the span, at its cost."""

    what: str
    lots: int
    value: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class BestRow:
    """A batch and what a sold bar of it earned."""

    lot: LotCode
    recipe: str
    sold: int
    margin_a_bar: Decimal
    hour: Decimal | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Season:
    """A span of days.

    Attributes:
        batches: poured in it; `ready` were released first in it.
        income: of goods, less discounts, for bars of a known price; `unpriced` have none.
        selling: what was spent on the shop as a whole.
        margin: income less the cost of what was sold, given and wasted, and less selling.
        hour: what an hour of work in the bars sold earned, before selling.
        gap_cents: cost in less cost out and here; nothing, always.
    """

    first: date
    last: date
    currency: str
    batches: int
    ready: int
    bars: tuple[BarsRow, ...]
    income: Decimal
    postage: Decimal
    tax: Decimal
    unpriced: int
    selling: Decimal
    margin: Decimal
    hours: Decimal
    hour: Decimal | None
    yields: tuple[YieldRow, ...]
    breakage: tuple[BreakRow, ...]
    months: tuple[MonthRow, ...]
    stock: tuple[StockRow, ...]
    best: BestRow | None
    worst: BestRow | None
    animals: tuple[AnimalRow, ...]
    unknown: tuple[str, ...]
    method: str
    gap_cents: int


def check_span(desk: Desk, first: date, last: date) -> None:
    """Refuse a span that ends before it begins, or in the future, by BadInput."""
    if last < first:
        raise BadInput(f"the span ends on {last}, before it begins on {first}")
    if last > desk.today:
        raise BadInput(f"{last} is in the future (today is {desk.today})")


@one_snapshot
def season(desk: Desk, first: date, last: date) -> Season:
    """What a span of days was, both ends counted; costs are as they are known at its end.

    Raises:
        BadInput: it ends before it begins, or in the future.
    """
    check_span(desk, first, last)
    with desk.ledger.read() as reader:
        rows = reader.cost_rows(last)
        book = book_of(desk, reader, last, rows)
        traded = reader.traded(last)
        wasted = [w for w in reader.wasted(last) if w.on >= first]
        ready = sum(day >= first for day in reader.released(last).values())
    return _told(desk, book, rows, traded, wasted, first, last, ready)


def _told(
    desk: Desk,
    book: Book,
    rows: Rows,
    traded: list[Traded],
    wasted: list[Wasted],
    first: date,
    last: date,
    ready: int,
) -> Season:
    sold = [s for s in sold_of(book, traded) if s.traded.on >= first]
    total = Sum()
    for one in sold:
        total.add(one)
    by_way, gone = _by_way(book, first)
    selling = sum(
        s.cents or 0
        for s in rows.spent
        if s.lot is None and s.on >= first and s.currency == desk.shop.currency
    )
    ranked = _ranked(desk, book, sold)
    sales = [s.traded for s in sold if s.traded.sale is not None]
    return Season(
        first=first,
        last=last,
        currency=desk.shop.currency,
        batches=sum(row.kind == "batch" and row.on >= first for row in book.lots.values()),
        ready=ready,
        bars=by_way,
        income=amount(total.cents),
        postage=amount(sum(t.sign * t.sale.postage_cents for t in sales if t.sale)),
        tax=amount(sum(t.sign * t.sale.tax_cents for t in sales if t.sale)),
        unpriced=total.unpriced,
        selling=amount(selling),
        margin=amount(total.cents - gone - selling),
        hours=(Decimal(total.seconds) / 3600).quantize(Decimal("0.1")),
        hour=earned_an_hour(desk, total.margin_cents, total.seconds),
        yields=_yields(book, rows, first),
        breakage=_breakage(book, wasted, _made(book, first)),
        months=months(sales),
        stock=stock_of(book),
        best=ranked[0] if ranked else None,
        worst=ranked[-1] if len(ranked) > 1 else None,
        animals=tuple(accounts(book, rows, traded)),
        unknown=unknown_words(book, {n for m in book.money.values() for n in m.unknown}),
        method=METHOD,
        gap_cents=balance(book.flowed, book.money).gap,
    )


def _made(book: Book, first: date) -> int:
    """Good bars that came out of the mould since a day."""
    return sum(good for lot, (good, _) in book.made.items() if book.on[book.out[lot]] >= first)


def _by_way(book: Book, first: date) -> tuple[tuple[BarsRow, ...], int]:
    """Bars by where they went since a day, and what is here; and the cost of what is gone."""
    bars: dict[str, int] = defaultdict(int)
    cents: dict[str, int] = defaultdict(int)
    for number, money in book.money.items():
        good = book.made.get(number, (0, 0))[0]
        for step, part in money.went:
            if step.way != "lot" and book.on[step.entry] >= first:
                cents[step.way] += part
                bars[step.way] += step.quantity if good else 0
        if number in book.made:
            bars["here"] += money.left
            cents["here"] += money.left_cents
    rejects = sum(bad for lot, (_, bad) in book.made.items() if book.on[book.out[lot]] >= first)
    made = _made(book, first)
    kept = sum(book.kept.values())
    rows = [
        BarsRow(way="out of the mould, good", bars=made, cost=None),
        BarsRow(way="rejected at the mould", bars=rejects, cost=None),
    ]
    for way in ("sold", "given", "wasted"):
        rows.append(BarsRow(way=way, bars=bars[way], cost=amount(cents[way])))
    rows.append(BarsRow(way="kept back, in all", bars=kept, cost=amount(cents["kept"])))
    rows.append(BarsRow(way="here at the end", bars=bars["here"], cost=amount(cents["here"])))
    return tuple(rows), sum(cents[way] for way in ("sold", "given", "wasted"))


def _yields(book: Book, rows: Rows, first: date) -> tuple[YieldRow, ...]:
    raw: dict[str, int] = defaultdict(int)
    fat: dict[str, int] = defaultdict(int)
    for lot in rows.receipts:
        row = book.lots[lot.id]
        if row.on >= first and lot.raw_fat_mg:
            raw[row.item] += lot.raw_fat_mg
            fat[row.item] += lot.mass_mg
    found = [
        YieldRow(
            of=f"{item} of its raw fat",
            went_in=f"{raw[item] / 1e6:.1f} kg",
            came_out=f"{fat[item] / 1e6:.1f} kg",
            percent=round(100 * fat[item] / raw[item], 1),
        )
        for item in sorted(raw)
    ]
    made = [m for lot, m in book.made.items() if book.on[book.out[lot]] >= first]
    good, bad = sum(g for g, _ in made), sum(b for _, b in made)
    if good + bad:
        found.append(
            YieldRow(
                of="good bars of all out of the mould",
                went_in=str(good + bad),
                came_out=str(good),
                percent=round(100 * good / (good + bad), 1),
            )
        )
    return tuple(found)


def _breakage(book: Book, wasted: Iterable[Wasted], made: int) -> tuple[BreakRow, ...]:
    counts: dict[tuple[int, str], int] = defaultdict(int)
    for one in wasted:
        age = (one.on - book.lots[one.lot].on).days
        band = next(n for n, (under, _) in enumerate(AGES) if age < under)
        counts[band, "packed, on a shelf" if one.from_kind == "shelf" else "not packed"] += one.bars
    return tuple(
        BreakRow(
            age=AGES[band][1],
            stood=stood,
            bars=bars,
            percent=round(100 * bars / made, 1) if made else 0.0,
        )
        for (band, stood), bars in sorted(counts.items())
    )


def months(sales: Iterable[Traded]) -> tuple[MonthRow, ...]:
    """Sales by month and by the state or place they went to."""
    sums: dict[tuple[str, str], list[int]] = defaultdict(lambda: [0, 0, 0, 0])
    for one in sales:
        if one.sale is None:
            continue
        row = sums[one.on.strftime("%Y-%m"), one.destination or "not said"]
        row[0] += one.bars
        row[1] += one.goods_cents
        row[2] += one.sign * one.sale.postage_cents
        row[3] += one.sign * one.sale.tax_cents
    return tuple(
        MonthRow(
            month=month,
            place=place,
            bars=bars,
            goods=amount(goods),
            postage=amount(postage),
            tax=amount(tax),
        )
        for (month, place), (bars, goods, postage, tax) in sorted(sums.items())
    )


StockKind = Literal["ingredients", "in the mould", "bars"]


def stock_of(book: Book) -> tuple[StockRow, ...]:
    """What lies here at its cost: ingredients, batches in the mould, and bars."""
    lots: dict[StockKind, int] = defaultdict(int)
    cents: dict[StockKind, int] = defaultdict(int)
    for number, money in book.money.items():
        kind: StockKind = "ingredients"
        if book.lots[number].kind == "batch":
            kind = "bars" if number in book.made else "in the mould"
        if money.left > 0 or money.left_cents:
            lots[kind] += 1
            cents[kind] += money.left_cents
    kinds: tuple[StockKind, ...] = ("ingredients", "in the mould", "bars")
    return tuple(StockRow(what=k, lots=lots[k], value=amount(cents[k])) for k in kinds)


def _ranked(desk: Desk, book: Book, sold: Iterable[Sold]) -> list[BestRow]:
    """Batches with bars sold at a known price, the one that earned most a bar first."""
    sums: dict[int, Sum] = defaultdict(Sum)
    for one in sold:
        sums[one.traded.lot].add(one)
    rows = [
        BestRow(
            lot=LotCode(book.lots[lot].code),
            recipe=book.lots[lot].item,
            sold=total.bars,
            margin_a_bar=(amount(total.margin_cents) / total.bars).quantize(Decimal("0.01")),
            hour=earned_an_hour(desk, total.margin_cents, total.seconds),
        )
        for lot, total in sums.items()
        if total.bars > 0
    ]
    return sorted(rows, key=lambda r: (-r.margin_a_bar, r.lot))
