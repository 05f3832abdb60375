"""Invoices: numbered without a gap, corrected by credit notes alone."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal
from pathlib import Path

import pypdfium2
import pytest

from soapstock.desk.desk import Desk
from soapstock.enter import orders
from soapstock.enter.invoice import credit, write_invoice
from soapstock.enter.money import Terms, charge
from soapstock.enter.move import ship
from soapstock.enter.undo import undo, unship
from soapstock.errors import BadInput, NotFound, RuleBroken
from soapstock.papers import invoice as papers
from soapstock.views.invoices import invoice_list
from tests.desks import moneyless as desk
from tests.enter.test_money import READY

__all__ = ["desk"]

TERMS = Terms(price="7.50", discount="1.00", postage="4.00", tax="0.78")


def sell(desk: Desk, who: str = "A. Customer", bars: int = 3) -> int:
    """Some bars with a price."""
    return ship(desk, READY, bars, customer=who, from_place="rack", terms=TERMS).entry_id


def words_of(path: Path) -> str:
    """The text of a PDF."""
    with pypdfium2.PdfDocument(path) as pdf:
        return "\n".join(page.get_textpage().get_text_bounded() for page in pdf)


def test_an_invoice_is_the_sum_of_what_was_sold(desk: Desk, tmp_path: Path) -> None:
    """3 at 7.50 less 1.00, 4.00 of postage and 0.78 of tax: 26.28; the print says the same."""
    sell(desk)
    _, given = write_invoice(
        desk, customer="A. Customer", address="1 Quay", due_on=date(2027, 1, 2)
    )
    assert (given.shown, given.total_cents) == ("2026-0001", 2628)
    papers.write_invoice(desk, "2026-0001", tmp_path / "i.pdf")
    told = words_of(tmp_path / "i.pdf")
    for words in ("Invoice 2026-0001", "Heronwick Saltings", "1 Quay", "Driftwood", "22.50"):
        assert words in told
    for words in ("-1.00", "4.00", "0.78", "26.28 USD", "2027-01-02", "nothing here is tax advice"):
        assert words in told


def test_what_was_paid_is_a_receipt(desk: Desk, tmp_path: Path) -> None:
    """It says how."""
    entry = sell(desk)
    write_invoice(desk, entry=entry, paid="card")
    papers.write_invoice(desk, "2026-0001", tmp_path / "r.pdf")
    assert "Receipt 2026-0001" in words_of(tmp_path / "r.pdf")


def test_nothing_is_invoiced_twice(desk: Desk) -> None:
    """Neither by its customer nor by its entry."""
    entry = sell(desk)
    write_invoice(desk, customer="A. Customer")
    with pytest.raises(NotFound, match="left to invoice"):
        write_invoice(desk, customer="A. Customer")
    with pytest.raises(NotFound, match="left to invoice"):
        write_invoice(desk, entry=entry)
    with pytest.raises(RuleBroken, match="stands on invoice 2026-0001"), desk.ledger.write() as w:
        w.invoice(desk.stamp(), [entry], {})


def test_what_is_invoiced_is_neither_undone_nor_charged_anew(desk: Desk) -> None:
    """The invoice itself cannot be undone either; a credit note sets its sale free."""
    entry = sell(desk)
    done, _ = write_invoice(desk, entry=entry)
    for change in (
        lambda: undo(desk, entry, "wrong"),
        lambda: charge(desk, entry, Terms(price="1.00")),
        lambda: undo(desk, done.entry_id, "wrong"),
    ):
        with pytest.raises(RuleBroken, match=r"invoice"):
            change()
    credit(desk, "2026-0001", "wrong price")
    charge(desk, entry, Terms(price="1.00"))
    _, again = write_invoice(desk, entry=entry)
    assert (again.shown, again.total_cents) == ("2026-0003", 300)


def test_a_price_given_later_is_invoiced_once_and_then_stands(desk: Desk) -> None:
    """The line names the entry that shipped the bars, not the one that priced them."""
    charge(desk, 115, Terms(price="7.25"))
    _, given = write_invoice(desk, entry=115)
    assert [line.sold for line in given.lines] == [115]
    with pytest.raises(RuleBroken, match="stands on invoice"):
        charge(desk, 115, Terms(price="7.00"))


def test_a_credit_note_takes_an_invoice_back_to_the_cent(desk: Desk, tmp_path: Path) -> None:
    """Together they are nothing, and each names the other."""
    sell(desk)
    _, given = write_invoice(desk, customer="A. Customer")
    _, note = credit(desk, given.shown, "bars came back")
    assert note.total_cents == -given.total_cents
    assert [(r.number, r.credited_by) for r in invoice_list(desk)] == [
        ("2026-0001", "2026-0002"),
        ("2026-0002", ""),
    ]
    papers.write_invoice(desk, "2026-0002", tmp_path / "c.pdf")
    told = words_of(tmp_path / "c.pdf")
    assert "Credit note 2026-0002" in told
    assert "2026-0001" in told
    assert "bars came back" in told
    for number, words in (("2026-0001", "credited already"), ("2026-0002", "credit note itself")):
        with pytest.raises(RuleBroken, match=words):
            credit(desk, number, "again")


def test_bars_that_came_back_are_on_the_next_invoice(desk: Desk) -> None:
    """Three sold and one back: two are invoiced, and the credited one is not."""
    sell(desk)
    write_invoice(desk, customer="A. Customer")
    orders.take_back(desk, READY, 1, "A. Customer")
    with pytest.raises(RuleBroken, match="more came back than was sold"):
        write_invoice(desk, customer="A. Customer")
    credit(desk, "2026-0001", "one came back")
    _, given = write_invoice(desk, customer="A. Customer")
    assert [line.bars for line in given.lines] == [3, -1]
    assert given.goods_cents == 1500


def test_an_order_is_invoiced_whole_and_not_unshipped_after(desk: Desk) -> None:
    """Its lots are lines of one invoice; its shipping stands until that is credited."""
    orders.ship(desk, "HS-41", terms=Terms(price="7.00"))
    _, given = write_invoice(desk, "HS-41")
    assert (given.customer, given.order_ref, given.total_cents) == (
        "C. Wader (invented)",
        "HS-41",
        7000,
    )
    with pytest.raises(RuleBroken, match="stands on invoice"):
        unship(desk, "HS-41", "wrong box")
    credit(desk, "2026-0001", "wrong box")
    unship(desk, "HS-41", "wrong box")


def test_bars_without_a_price_are_not_invoiced(desk: Desk) -> None:
    """It says which."""
    with pytest.raises(RuleBroken, match="were sold for"):
        write_invoice(desk, "HS-31")
    assert invoice_list(desk) == []


def test_numbers_rise_with_the_days_and_begin_anew_each_year(desk: Desk) -> None:
    """No invoice is dated before the one with the number before it."""
    one, other = sell(desk, bars=1), sell(desk, bars=1)
    then = replace(desk, today=date(2027, 1, 4))
    write_invoice(desk, entry=one)
    with pytest.raises(NotFound, match="left to invoice"):
        write_invoice(then, entry=other, on=date(2026, 11, 19))
    ship_before = ship(
        then, READY, 1, customer="B", from_place="rack", terms=TERMS, on=date(2026, 11, 1)
    )
    with pytest.raises(RuleBroken, match="none can be dated"):
        write_invoice(then, entry=ship_before.entry_id, on=date(2026, 11, 10))
    _, given = write_invoice(then, entry=other)
    assert given.shown == "2027-0001"
    assert given.on == date(2027, 1, 4)


@pytest.mark.parametrize("number", ["1", "2026-", "26-0001", "2026-0001x", "2026-9"])
def test_a_number_that_is_none_is_told(desk: Desk, number: str) -> None:
    """Not understood, or not given yet."""
    with pytest.raises((BadInput, NotFound)):
        credit(desk, number, "why")


def test_an_invoice_must_be_over_something(desk: Desk) -> None:
    """One thing, not two."""
    for asked in ({}, {"customer": "A", "entry": 3}):
        with pytest.raises(BadInput, match="invoice what"):
            write_invoice(desk, **asked)  # type: ignore[arg-type]


def test_amounts_are_decimals_with_two_places(desk: Desk) -> None:
    """As the shop's currency has."""
    sell(desk)
    write_invoice(desk, customer="A. Customer")
    assert invoice_list(desk)[0].total == Decimal("26.28")
