"""Rack cards of real batches."""

from __future__ import annotations

from pathlib import Path

import pypdfium2

from soapstock.desk.desk import Desk
from soapstock.desk.finding import read_lot
from soapstock.papers import cards
from soapstock.views.batch import view

LOT = "DRF-26241-AZ"


def test_a_card_carries_what_is_on_record(desk: Desk, tmp_path: Path) -> None:
    """Its weigh-ins, its test and its release; a fresh pour has none of them."""
    item = view(desk, read_lot(desk, LOT))
    card = cards.card_of(desk, item)
    newest = item.facts.weigh_ins[-1]
    assert card.weigh_ins[-1][:3] == (newest.on.isoformat(), "10", f"{newest.mass_g:g}")
    assert card.tested_text.endswith("tongue: passed")
    assert card.released_text.startswith("2026-10-09")
    fresh = cards.card_of(desk, view(desk, read_lot(desk, "SAM-26323-AN")))
    assert (fresh.bars, fresh.weigh_ins, fresh.tested_text, fresh.released_text) == (
        None,
        (),
        "",
        "",
    )


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
