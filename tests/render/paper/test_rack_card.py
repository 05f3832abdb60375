"""The rack card as a maker gets it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import pypdfium2
import pytest

from soapstock.errors import BadInput
from soapstock.render.paper.rack_card import RackCard, write_rack_card

CARD = RackCard(
    shop_name="Heronwick Saltings",
    recipe_name="Driftwood",
    lot_code="DRF-26329-AK",
    qr_text="DRF26329AK",
    poured_on=date(2026, 11, 25),
    unmould_due=date(2026, 11, 27),
    bars=21,
    start_mass_text="146.2 g",
    declared_text="113 g",
    ready_text="6 Jan 2027 (28 Dec 2026 to 20 Jan 2027)",
    state="curing",
)


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_three_cards_take_two_pages_and_say_what_is_on_the_rack(tmp_path: Path, paper: str) -> None:
    """Two to a page; lot, dates, window and weigh-in boxes on each."""
    path = tmp_path / "c.pdf"
    write_rack_card(path, [CARD, replace(CARD, bars=None), CARD], paper=paper)
    pdf = pypdfium2.PdfDocument(path)
    assert len(pdf) == 2
    text = pdf[0].get_textpage().get_text_bounded()
    assert text.count("DRF-26329-AK") == 2
    for word in ("25 Nov 2026", "27 Nov 2026", "6 Jan 2027", "in the mould", "Weigh-ins", "113 g"):
        assert word in text


def test_a_stopped_batch_says_so_and_why_on_its_card(tmp_path: Path) -> None:
    """In capitals, with the reason, in type of 30 points or more; no other card says it."""
    path = tmp_path / "c.pdf"
    stopped = replace(CARD, state="ON HOLD", stopped_text="on hold (tester: soda ash?)")
    write_rack_card(path, [stopped])
    page = pypdfium2.PdfDocument(path)[0].get_textpage()
    text = page.get_text_bounded()
    assert "Do not sell, do not shelve." in text
    assert "on hold (tester: soda ash?)" in text
    tall = max(
        top - bottom
        for i in range(page.count_chars())
        if page.get_text_range(i, 1) == "H"
        for _, bottom, _, top in [page.get_charbox(i)]
    )
    assert tall > 0.6 * 30, "a capital is some 0.7 of the type size"
    write_rack_card(path, [CARD])
    plain = pypdfium2.PdfDocument(path)[0].get_textpage().get_text_bounded()
    assert "Do not sell" not in plain


def test_no_cards_are_refused(tmp_path: Path) -> None:
    """Nothing is written for nothing."""
    with pytest.raises(BadInput, match="no rack cards"):
        write_rack_card(tmp_path / "c.pdf", [])
