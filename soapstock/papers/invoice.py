"""Invoices, receipts and credit notes as PDFs."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from soapstock.codes.lot import LotCode
from soapstock.desk.desk import Desk
from soapstock.money.share import amount

if TYPE_CHECKING:
    from soapstock.ledger.facts import Invoice


def title_of(one: Invoice) -> str:
    """`Invoice 2026-0001`; a receipt when it was paid as it was given."""
    kind = "receipt" if one.paid and one.kind == "invoice" else one.kind
    return f"{kind.capitalize()} {one.shown}"


def write_invoice(desk: Desk, number: str, path: Path) -> Invoice:
    """The invoice, receipt or credit note of a number as a PDF. Raises NotFound."""
    from soapstock.render.paper.plain import Column, Paper, Section, write_paper

    with desk.ledger.read() as reader:
        one = reader.invoice(number)
        taken = next((x for x in reader.invoices() if x.entry_id == one.credits), None)
    head = (
        ("Date", "" if one.on is None else one.on.isoformat()),
        ("To", one.customer),
        ("Address", one.address),
        ("Order", one.order_ref),
        ("Takes back invoice", "" if taken is None else taken.shown),
        ("Because", one.reason),
        ("Paid", one.paid),
        ("Due", "" if one.due_on is None else one.due_on.isoformat()),
    )
    columns = (
        Column(head="Soap", share=2.2),
        Column(head="Lot", share=1.4),
        Column(head="Bars", share=0.6, right=True),
        Column(head="Each", share=0.8, right=True),
        Column(head="Amount", right=True),
    )
    rows = tuple(
        (
            line.name,
            LotCode(line.lot_code).shown,
            str(line.bars),
            str(amount(line.price_cents)),
            str(amount(line.cents)),
        )
        for line in one.lines
    )
    paper = Paper(
        title=title_of(one),
        subtitle=", ".join(filter(None, (*desk.shop.address, desk.shop.contact))),
        shop_name=desk.shop.maker,
        paper=desk.shop.paper,
        foot="Tax as the seller entered it; nothing here is tax advice.",
        sections=(
            Section(facts=tuple(fact for fact in head if fact[1])),
            Section(heading="Soap", columns=columns, rows=rows),
            Section(heading="In all", facts=_sums(one)),
        ),
    )
    write_paper(path, paper)
    return one


def _sums(one: Invoice) -> tuple[tuple[str, str], ...]:
    parts = (
        ("Goods", one.goods_cents),
        ("Discount", -one.discount_cents),
        ("Postage", one.postage_cents),
        ("Tax", one.tax_cents),
    )
    shown = [(label, str(amount(cents))) for label, cents in parts if cents or label == "Goods"]
    owed = "Paid" if one.paid else "To pay"
    label = owed if one.kind == "invoice" else "To be paid back"
    total = abs(one.total_cents) if one.kind != "invoice" else one.total_cents
    return (*shown, (label, f"{amount(total)} {one.currency}"))
