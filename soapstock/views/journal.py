"""The accountant's journal of a span of days: sales, purchases, and where the cost of soap went."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from soapstock.codes.lot import LotCode
from soapstock.desk.desk import Desk, one_snapshot
from soapstock.ledger.facts import Invoice
from soapstock.ledger.read.money import Traded
from soapstock.money.book import Book
from soapstock.money.journal import Account, Line, chart, from_day, line, stock_lines, sums
from soapstock.money.share import amount
from soapstock.units import several
from soapstock.views.cost import book_of, unknown_words
from soapstock.views.season import check_span


@dataclass(frozen=True, slots=True, kw_only=True)
class JournalRow:
    """One line as an accountant reads it: `amount` is taken by `debit` and given by `credit`."""

    date: date
    entry: int
    document: str
    text: str
    lot: str
    customer: str
    place: str
    debit: str
    credit: str
    amount: str
    currency: str


@dataclass(frozen=True, slots=True, kw_only=True)
class AccountSum:
    """What an account took and gave in the span, and what stands on it at the end."""

    account: str
    kind: str
    currency: str
    debit: Decimal
    credit: Decimal
    balance: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class Journal:
    """A span's journal.

    Attributes:
        chart: every account that a line may name.
        unknown: lots of which nobody wrote down the cost: it counts for nothing.
        unpriced: bars that were sold in the span at nobody knows what: they bring nothing.
    """

    first: date
    last: date
    chart: tuple[Account, ...]
    rows: tuple[JournalRow, ...]
    sums: tuple[AccountSum, ...]
    unknown: tuple[str, ...]
    unpriced: int


@one_snapshot
def journal(desk: Desk, first: date, last: date) -> Journal:
    """The journal of a span, both ends counted; costs are as they are known at its end.

    Raises:
        BadInput: it ends before it begins, or in the future.
    """
    check_span(desk, first, last)
    currency = desk.shop.currency
    with desk.ledger.read() as reader:
        rows = reader.cost_rows(last)
        book = book_of(desk, reader, last, rows)
        traded = reader.traded(last)
        invoices = [one for one in reader.invoices() if one.on and one.on <= last]
    accounts = chart(desk.shop.accounts)
    every = [
        *stock_lines(book, rows, currency),
        *_sales(traded, _documents(invoices)),
        *_paid(invoices),
    ]
    lines = from_day(every, first, {one.key: one.kind for one in accounts})
    names = {one.key: one.name for one in accounts}
    return Journal(
        first=first,
        last=last,
        chart=accounts,
        rows=tuple(_row(book, one, names) for one in lines),
        sums=tuple(_sums(lines, accounts)),
        unknown=unknown_words(book, {n for m in book.money.values() for n in m.unknown}),
        unpriced=sum(
            t.bars for t in traded if t.sale is None and not t.given_for and t.on >= first
        ),
    )


def _documents(invoices: Sequence[Invoice]) -> dict[int, str]:
    """By sale: the invoice that it stands on now."""
    credited = {one.credits for one in invoices}
    return {
        item.sold: one.shown
        for one in invoices
        if one.kind == "invoice" and one.entry_id not in credited
        for item in one.lines
    }


def _sales(traded: Iterable[Traded], documents: Mapping[int, str]) -> Iterator[Line]:
    for one in traded:
        sale = one.sale
        if sale is None:
            continue
        bars = abs(one.bars)
        parts = (
            ("customers", "sales", sale.price_cents * bars),
            ("discounts", "customers", sale.discount_cents),
            ("customers", "postage", sale.postage_cents),
            ("customers", "tax", sale.tax_cents),
        )
        for debit, credit, cents in parts:
            what = "sold" if one.sign > 0 else "came back"
            yield from line(
                cents=one.sign * cents,
                debit=debit,
                credit=credit,
                on=one.on,
                entry=one.entry,
                currency=sale.currency,
                text=f"{several(bars, 'bar')} {one.recipe_code} {what}, {sale.buyer}",
                lot=one.lot,
                document=documents.get(one.entry, ""),
                customer=one.customer,
                place=one.destination,
            )


def _paid(invoices: Sequence[Invoice]) -> Iterator[Line]:
    """What receipts say was paid, and what credit notes over them pay back."""
    by_entry = {one.entry_id: one for one in invoices}
    for one in invoices:
        how = one.paid or (by_entry[one.credits].paid if one.credits else "")
        if how and one.on is not None:
            yield from line(
                cents=one.total_cents,
                debit="money",
                credit="customers",
                on=one.on,
                entry=one.entry_id,
                currency=one.currency,
                text=f"paid{' back' if one.credits else ''}: {how}",
                document=one.shown,
                customer=one.customer,
            )


def _row(book: Book, one: Line, names: Mapping[str, str]) -> JournalRow:
    return JournalRow(
        date=one.on,
        entry=one.entry,
        document=one.document,
        text=one.text,
        lot=LotCode(book.lots[one.lot].code).shown if one.lot else "",
        customer=one.customer,
        place=one.place,
        debit=names[one.debit],
        credit=names[one.credit],
        amount=f"{amount(one.cents)}",
        currency=one.currency,
    )


def _sums(lines: Sequence[Line], accounts: Sequence[Account]) -> Iterator[AccountSum]:
    found = sums(lines)
    for one in accounts:
        for (key, currency), (took, gave) in found.items():
            if key == one.key:
                yield AccountSum(
                    account=one.name,
                    kind=one.kind,
                    currency=currency,
                    debit=amount(took),
                    credit=amount(gave),
                    balance=amount(took - gave),
                )
