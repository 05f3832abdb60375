"""Invoices and credit notes: given with the next number, corrected by another, never changed."""

from __future__ import annotations

import re
from datetime import date

from soapstock.desk.desk import Desk
from soapstock.desk.finding import find_recipe
from soapstock.enter.entered import Entered
from soapstock.errors import BadInput, NotFound
from soapstock.ledger.facts import Invoice
from soapstock.ledger.read.money import Traded
from soapstock.ledger.read.reader import Reader
from soapstock.money.share import amount

_NUMBER = re.compile(r"([0-9]{4})-([0-9]{1,9})")


def write_invoice(
    desk: Desk,
    order_ref: str = "",
    *,
    customer: str = "",
    entry: int | None = None,
    address: str = "",
    paid: str = "",
    due_on: date | None = None,
    on: date | None = None,
) -> tuple[Entered, Invoice]:
    """Give an invoice over what left for an order or a customer and stands on no invoice yet.

    Args:
        entry: only what that entry sold.
        paid: how it was paid, which makes it a receipt.

    Raises:
        BadInput: neither order nor customer nor entry; NotFound: nothing to invoice.
        RuleBroken: some of it has no price.
    """
    if sum((bool(order_ref), bool(customer), entry is not None)) != 1:
        raise BadInput("invoice what?", hint="an order, or a customer, or one sale")
    stamp = desk.stamp(on)
    with desk.writing() as (here, writer), here.ledger.read() as reader:
        free = _not_invoiced(reader, reader.traded(stamp.happened_on))
        chosen = [
            t
            for t in free
            if (order_ref and t.order_ref == order_ref)
            or (customer and t.customer == customer)
            or t.entry == entry
        ]
        what = order_ref or customer or f"entry {entry}"
        if not chosen:
            raise NotFound(
                f"nothing of {what} is left to invoice",
                hint="nothing was shipped, or it stands on an invoice already",
            )
        names = {t.recipe_code: find_recipe(reader, t.recipe_code)[0].name for t in chosen}
        places = [t.destination for t in chosen if t.destination]
        number = writer.invoice(
            stamp,
            [t.entry for t in chosen],
            names,
            address=address or (places[-1] if places else ""),
            order_ref=order_ref,
            paid=paid.strip(),
            due_on=due_on,
        )
        given = _given(reader, number)
    kind = "Receipt" if given.paid else "Invoice"
    said = f"{kind} {given.shown} for {given.customer}: {_total(given)}."
    return Entered(entry_id=number, lot_code=None, said=said), given


def credit(desk: Desk, number: str, why: str, *, on: date | None = None) -> tuple[Entered, Invoice]:
    """Take an invoice back by a credit note; what it was over may be invoiced anew.

    Raises:
        BadInput: no number, no reason; NotFound: no such invoice; RuleBroken: credited already.
    """
    match = _NUMBER.fullmatch(number.strip())
    if match is None:
        raise BadInput(f"'{number[:40]}' is no invoice number", hint="write it like 2026-0001")
    stamp = desk.stamp(on)
    with desk.writing() as (here, writer), here.ledger.read() as reader:
        entry = writer.credit(stamp, match[1], int(match[2]), why)
        given = _given(reader, entry)
    said = f"Credit note {given.shown} takes {number.strip()} back: {_total(given)}."
    return Entered(entry_id=entry, lot_code=None, said=said), given


def _total(given: Invoice) -> str:
    return f"{amount(given.total_cents)} {given.currency}"


def _given(reader: Reader, entry: int) -> Invoice:
    return next(one for one in reader.invoices() if one.entry_id == entry)


def _not_invoiced(reader: Reader, traded: list[Traded]) -> list[Traded]:
    """Sales, and returns that were paid back, on no invoice or only on one that was credited."""
    every = reader.invoices()
    credited = {one.credits for one in every if one.credits}
    on_one = {
        line.sold
        for one in every
        if one.kind == "invoice" and one.entry_id not in credited
        for line in one.lines
    }
    return [
        t
        for t in traded
        if not (t.given_for or t.entry in on_one or (t.bars < 0 and t.sale is None))
    ]
