"""Prices on paper."""

from __future__ import annotations

from pathlib import Path

import pypdfium2
import pytest

from soapstock.desk.desk import Desk
from soapstock.enter.money import set_price
from soapstock.errors import NotFound
from soapstock.papers.prices import write_price_cards, write_price_sheet
from tests.desks import moneyless as desk

__all__ = ["desk"]


def words_of(path: Path) -> list[str]:
    """The text of each page."""
    with pypdfium2.PdfDocument(path) as pdf:
        return [page.get_textpage().get_text_bounded() for page in pdf]


def test_cards_and_sheet_say_each_kind_of_buyers_price(desk: Desk, tmp_path: Path) -> None:
    """Cards are for those who come to the table, the sheet for those who buy to sell."""
    for code, direct, wholesale in (("DRF", "7.50", "4.25"), ("EBB", "6.80", "4.00")):
        set_price(desk, code, direct)
        set_price(desk, code, wholesale, buyer="wholesale")
    assert write_price_cards(desk, tmp_path / "c.pdf", "direct") == 2
    (cards,) = words_of(tmp_path / "c.pdf")
    for words in ("Driftwood", "7.50 USD", "Ebb", "6.80 USD", "a bar, before tax"):
        assert words in cards
    assert "4.25" not in cards
    assert write_price_sheet(desk, tmp_path / "s.pdf", "wholesale") == 2
    (sheet,) = words_of(tmp_path / "s.pdf")
    for words in ("Wholesale prices", "before tax", "4.25", "4.00"):
        assert words in sheet


def test_more_cards_than_a_page_holds_go_on_the_next(tmp_path: Path) -> None:
    """Eight of 90 by 55 mm fit on letter paper."""
    from soapstock.render.paper.price_card import PriceCard, write_price_cards

    cards = [
        PriceCard(name=f"Bar {n}", price=f"{n}.00 USD", of="a bar", shop_name="S")
        for n in range(1, 10)
    ]
    assert write_price_cards(tmp_path / "c.pdf", cards, paper="letter") == 2
    first, second = words_of(tmp_path / "c.pdf")
    assert "Bar 8" in first
    assert "Bar 9" in second


def test_without_a_price_there_is_no_card(desk: Desk, tmp_path: Path) -> None:
    """It says for whom there are some."""
    set_price(desk, "DRF", "7.50")
    with pytest.raises(NotFound, match="trade buyer"):
        write_price_cards(desk, tmp_path / "c.pdf", "trade")
    assert not (tmp_path / "c.pdf").exists()
