"""The invoices and credit notes that were given."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from soapstock.desk.desk import Desk, one_snapshot
from soapstock.money.share import amount


@dataclass(frozen=True, slots=True, kw_only=True)
class InvoiceRow:
    """One invoice or credit note; `credited_by` is the note that took it back."""

    number: str
    kind: str
    on: date | None
    customer: str
    order: str
    total: Decimal
    currency: str
    paid: str
    due_on: date | None
    credited_by: str


@one_snapshot
def invoice_list(desk: Desk) -> list[InvoiceRow]:
    """Every one of them, by number."""
    with desk.ledger.read() as reader:
        every = reader.invoices()
    notes = {one.credits: one.shown for one in every if one.credits}
    return [
        InvoiceRow(
            number=one.shown,
            kind=one.kind,
            on=one.on,
            customer=one.customer,
            order=one.order_ref,
            total=amount(one.total_cents),
            currency=one.currency,
            paid=one.paid,
            due_on=one.due_on,
            credited_by=notes.get(one.entry_id, ""),
        )
        for one in every
    ]
