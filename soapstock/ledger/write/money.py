"""Writing the facts of money: what was spent, prices, what bars were sold for, invoices."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any, get_args

from sqlalchemy import func, select

from soapstock.codes.lot import LotCode
from soapstock.errors import BadInput, NotFound, RuleBroken
from soapstock.ledger.base.tables import (
    ENTRY,
    INVOICE,
    INVOICE_LINE,
    LOT,
    MOVEMENT,
    PRICE,
    SALE,
    SPENT,
    not_undone,
)
from soapstock.ledger.facts import Price, Sale, Spent, Stamp
from soapstock.ledger.write import guards
from soapstock.ledger.write.core import fact
from soapstock.ledger.write.trade import TradeWriter
from soapstock.money.book import SpentOn
from soapstock.money.share import amount

MOST_MINUTES = 60 * 24 * 31
TRADED = {"ship", "return", "charge"}


class MoneyWriter(TradeWriter):
    """The facts of money."""

    @fact
    def spend(self, stamp: Stamp, spent: Spent, lot: str = "") -> int:
        """Record work or money that went into a lot, or into the shop when no lot is named."""
        guards.one_of("what it was spent on", spent.what, get_args(SpentOn))
        found = self.lot(lot) if lot else None
        if found is not None:
            self.refuse_before(stamp, found, "spending")
        if (spent.what == "work") == (spent.minutes is None):
            raise BadInput("work is given in minutes, and all else as an amount")
        if (spent.minutes is None) == (spent.amount_cents is None):
            raise BadInput("give minutes of work, or an amount")
        if spent.minutes is not None:
            guards.whole("minutes", spent.minutes, high=MOST_MINUTES)
            said = f"{spent.minutes} minutes of work"
        else:
            cents = guards.whole("amount in cents", spent.amount_cents, high=guards.MAX_CENTS)
            said = f"{amount(cents)} {spent.currency} for {spent.what}"
        row = {
            "entry_id": self.next_id,
            "lot_id": None if found is None else found.id,
            "what": spent.what,
            "minutes": spent.minutes,
            "amount_cents": spent.amount_cents,
            "currency": guards.text("currency", spent.currency, limit=10),
        }
        where = "the shop" if found is None else found.code
        return self.enter(
            stamp,
            "spend",
            lot_id=None if found is None else found.id,
            facts=[(SPENT, row)],
            summary=f"spent {said} on {where}",
        )

    @fact
    def set_price(self, stamp: Stamp, price: Price) -> int:
        """Say what a bar of a recipe sells for to a kind of buyer from a day on."""
        cents = price.price_cents
        if cents is not None:
            guards.whole("price in cents", cents, low=0, high=guards.MAX_CENTS)
        row = {
            "entry_id": self.next_id,
            "recipe_code": guards.text("recipe", price.recipe_code, limit=20, required=True),
            "buyer": guards.text("kind of buyer", price.buyer, limit=40, required=True),
            "price_cents": cents,
            "currency": guards.text("currency", price.currency, limit=10),
        }
        said = "off the list" if cents is None else f"{amount(cents)} {price.currency} a bar"
        return self.enter(
            stamp,
            "price",
            facts=[(PRICE, row)],
            summary=f"price of {price.recipe_code}, {price.buyer}: {said}",
        )

    @fact
    def charge(self, stamp: Stamp, sold: int, sale: Sale) -> int:
        """Say, or say anew, what bars were sold for that left before.

        Raises:
            NotFound: no such entry; RuleBroken: it sold nothing, or stands on an invoice.
        """
        guards.whole("entry number", sold, high=2**31 - 1)
        found = self._sold(sold)
        if found is None:
            raise NotFound(f"entry {sold} sold no bars", hint="name the entry that shipped them")
        self._refuse_invoiced(sold)
        if stamp.happened_on < found.happened_on:
            raise RuleBroken(
                f"entry {sold} sold its bars on {found.happened_on}: they cannot be "
                f"charged on {stamp.happened_on}",
                hint="check the date",
            )
        rows = self.sale_rows(sale, found.quantity, sold)
        return self.enter(
            stamp,
            "charge",
            lot_id=found.lot_id,
            facts=rows,
            summary=f"sold by entry {sold}: {amount(sale.price_cents)} {sale.currency} a bar",
        )

    @fact
    def invoice(
        self,
        stamp: Stamp,
        sold: Sequence[int],
        names: Mapping[str, str],
        *,
        address: str = "",
        order_ref: str = "",
        paid: str = "",
        due_on: date | None = None,
    ) -> int:
        """Give an invoice over movements; its number is the next of the year's series.

        The number is taken inside the transaction that writes it, so that none is skipped or
        given twice, and numbers rise with the days.

        Args:
            sold: entries that sent bars to one customer, or took them back.
            names: recipes' names by code.

        Raises:
            RuleBroken: one has no price, another currency or customer, or an invoice already.
        """
        guards.whole("lines of the invoice", len(sold), high=1000)
        found = [self._to_invoice(entry) for entry in sold]
        customer = _one_customer(found)
        sign = [1 if row.to_place == "customer" else -1 for row in found]
        lines = [
            {
                "entry_id": self.next_id,
                "line": number,
                "sold": row.sold,
                "recipe_code": row.item,
                "name": guards.text("name", names.get(row.item, row.item)),
                "lot_code": row.code,
                "bars": way * row.quantity,
                "price_cents": row.price_cents,
            }
            for number, (row, way) in enumerate(zip(found, sign, strict=True), 1)
        ]
        sums = {
            name: sum(way * getattr(row, name) for row, way in zip(found, sign, strict=True))
            for name in ("discount_cents", "postage_cents", "tax_cents")
        }
        goods = sum(line["bars"] * line["price_cents"] for line in lines)
        if goods - sums["discount_cents"] + sums["postage_cents"] + sums["tax_cents"] < 0:
            raise RuleBroken(
                "more came back than was sold: that is no invoice",
                hint="credit the invoice it was on, and give another for what stays sold",
            )
        head = {
            "customer": customer,
            "address": guards.text("address", address, limit=guards.LONG),
            "order_ref": guards.text("order reference", order_ref),
            "paid": guards.text("how it was paid", paid, limit=80),
            "due_on": None if due_on is None else guards.day("the day it is due", due_on),
            "currency": found[0].currency,
            **sums,
        }
        return self._number(stamp, "invoice", head, lines)

    @fact
    def credit(self, stamp: Stamp, series: str, number: int, reason: str) -> int:
        """Take an invoice back, whole, by a credit note; what it was over may be invoiced anew.

        Raises:
            NotFound: no such invoice; RuleBroken: it is a credit note, or was credited already.
        """
        why = guards.text("the reason", reason, limit=guards.LONG, required=True)
        found = self.db.execute(
            select(INVOICE).where(INVOICE.c.series == series, INVOICE.c.number == number)
        ).first()
        if found is None:
            raise NotFound(f"no invoice {series}-{number:04d}", hint="check its number")
        if found.kind != "invoice":
            raise RuleBroken(f"{series}-{number:04d} is a credit note itself")
        if self._credited(found.entry_id):
            raise RuleBroken(f"invoice {series}-{number:04d} was credited already")
        head = {
            name: getattr(found, name) for name in ("customer", "address", "order_ref", "currency")
        } | {"credits": found.entry_id, "reason": why}
        for name in ("discount_cents", "postage_cents", "tax_cents"):
            head[name] = -getattr(found, name)
        lines = [
            dict(row._mapping) | {"entry_id": self.next_id, "bars": -row.bars}
            for row in self.db.execute(
                select(INVOICE_LINE)
                .where(INVOICE_LINE.c.entry_id == found.entry_id)
                .order_by(INVOICE_LINE.c.line)
            )
        ]
        return self._number(stamp, "credit note", head, lines)

    def _number(
        self, stamp: Stamp, kind: str, head: Mapping[str, Any], lines: Sequence[Mapping[str, Any]]
    ) -> int:
        series = str(stamp.happened_on.year)
        last = self.db.execute(
            select(INVOICE.c.number, ENTRY.c.happened_on)
            .join(ENTRY, ENTRY.c.id == INVOICE.c.entry_id)
            .where(INVOICE.c.series == series)
            .order_by(INVOICE.c.number.desc())
            .limit(1)
        ).first()
        if last is not None and stamp.happened_on < last.happened_on:
            raise RuleBroken(
                f"{series}-{last.number:04d} was given on {last.happened_on}: none can be dated "
                f"{stamp.happened_on} after it",
                hint="numbers rise with the days",
            )
        number = 1 if last is None else last.number + 1
        row = {
            "entry_id": self.next_id,
            "series": series,
            "number": number,
            "kind": kind,
            "credits": 0,
            "reason": "",
            "paid": "",
            "due_on": None,
        } | dict(head)
        return self.enter(
            stamp,
            kind,
            facts=[(INVOICE, row), *((INVOICE_LINE, line) for line in lines)],
            summary=f"{kind} {series}-{number:04d} for {row['customer']}",
        )

    def _sold(self, entry: int) -> Any:
        """The live movement of bars to or from a customer that an entry is, or None."""
        return self.db.execute(
            select(MOVEMENT, LOT.c.code, LOT.c.item, ENTRY.c.happened_on)
            .join(ENTRY, ENTRY.c.id == MOVEMENT.c.entry_id)
            .join(LOT, LOT.c.id == MOVEMENT.c.lot_id)
            .where(
                MOVEMENT.c.entry_id == entry,
                (MOVEMENT.c.to_place == "customer") | (MOVEMENT.c.from_place == "customer"),
                not_undone(MOVEMENT.c.entry_id),
            )
        ).first()

    def _to_invoice(self, entry: int) -> Any:
        sold = self._sold(entry)
        if sold is None:
            raise NotFound(f"entry {entry} sold no bars")
        self._refuse_invoiced(entry)
        row = self.db.execute(
            select(SALE, MOVEMENT, LOT.c.code, LOT.c.item)
            .join(MOVEMENT, MOVEMENT.c.entry_id == SALE.c.sold)
            .join(LOT, LOT.c.id == MOVEMENT.c.lot_id)
            .where(SALE.c.sold == entry, not_undone(SALE.c.entry_id))
            .order_by(SALE.c.entry_id.desc())
            .limit(1)
        ).first()
        if row is None:
            shown = LotCode(sold.code).shown
            raise RuleBroken(
                f"nobody said what the {sold.quantity} bars of {shown} of entry {entry} "
                "were sold for",
                hint="give them a price first",
            )
        return row

    def _refuse_invoiced(self, sold: int) -> None:
        on = self.db.execute(
            select(INVOICE.c.series, INVOICE.c.number, INVOICE.c.entry_id)
            .join(INVOICE_LINE, INVOICE_LINE.c.entry_id == INVOICE.c.entry_id)
            .where(INVOICE_LINE.c.sold == sold, INVOICE.c.kind == "invoice")
            .order_by(INVOICE.c.entry_id.desc())
            .limit(1)
        ).first()
        if on is not None and not self._credited(on.entry_id):
            raise RuleBroken(
                f"entry {sold} stands on invoice {on.series}-{on.number:04d}",
                hint="an invoice is corrected by a credit note: give that first",
            )

    def _credited(self, invoice: int) -> bool:
        notes = select(func.count()).where(INVOICE.c.credits == invoice)
        return bool(self.db.execute(notes).scalar_one())

    def _refuse_needed(self, entry: Any) -> None:
        if entry.kind in TRADED:
            sold = entry.id
            if entry.kind == "charge":
                sold = self.db.execute(
                    select(SALE.c.sold).where(SALE.c.entry_id == entry.id)
                ).scalar_one()
            self._refuse_invoiced(sold)
        super()._refuse_needed(entry)

    def needed_by(self, entry: Any, later: Any) -> Any:
        """What builds on a sale besides: a price given to it later."""
        if entry.kind not in {"ship", "return"}:
            return super().needed_by(entry, later)
        charged = select(SALE.c.entry_id).where(SALE.c.sold == entry.id)
        return later.where(ENTRY.c.id.in_(charged))


def _one_customer(found: Sequence[Any]) -> str:
    """The one customer of an invoice's lines, in one currency. Raises RuleBroken."""
    customers = {row.customer for row in found}
    if len(customers) > 1:
        raise RuleBroken(f"one invoice for several: {', '.join(sorted(customers))}")
    if len({row.currency for row in found}) > 1:
        raise RuleBroken("one invoice in several currencies", hint="give one for each")
    customer: str = customers.pop()
    return customer
