"""Rack cards of real batches."""

from __future__ import annotations

from pathlib import Path

import pypdfium2

from soapstock.desk.desk import Desk
from soapstock.desk.finding import read_lot
from soapstock.papers import cards
from soapstock.views.batch import view

LOT = "DRF-26241-AZ"


def test_a_card_says_its_lot_as_people_read_it(desk: Desk, tmp_path: Path) -> None:
    """In groups with hyphens, on the record and on the paper; the QR code holds it bare."""
    card = cards.card_of(desk, view(desk, read_lot(desk, LOT)))
    assert card.lot_code == LOT
    assert LOT.replace("-", "") in card.qr_text
    path = tmp_path / "card.pdf"
    assert cards.print_cards(desk, [LOT.lower()], path) == 1
    text = pypdfium2.PdfDocument(path)[0].get_textpage().get_text_range()
    assert LOT in text
    assert LOT.replace("-", "") not in text
