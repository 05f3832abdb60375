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
    for word in ("25 Nov 2026", "27 Nov 2026", "6 Jan 2027", "Weigh-ins", "113 g"):
        assert word in text


def test_a_fresh_pour_has_boxes_to_write_its_unmoulding_in(tmp_path: Path) -> None:
    """Count, rejects and mass, which are printed once they are known."""
    path = tmp_path / "c.pdf"
    boxes = ("Unmoulded on, by", "Good bars", "Rejects", "Bars weighed", "Their mass, g")
    write_rack_card(path, [replace(CARD, bars=None, start_mass_text="")])
    text = pypdfium2.PdfDocument(path)[0].get_textpage().get_text_bounded()
    assert all(box in text for box in boxes)
    write_rack_card(path, [CARD])
    text = pypdfium2.PdfDocument(path)[0].get_textpage().get_text_bounded()
    assert "Good bars" not in text
    assert "146.2 g" in text


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("stopped", ["", "on hold (tester: soda ash?)"])
def test_the_newest_weigh_ins_stand_on_the_card_with_room_for_more(
    tmp_path: Path, paper: str, stopped: str
) -> None:
    """And how many there are besides; nothing runs over the cut or off the paper."""
    path = tmp_path / "c.pdf"
    known = tuple((f"2026-12-{n:02}", "10", f"{1300 - n}", "", "", "me") for n in range(1, 10))
    card = replace(CARD, weigh_ins=known, stopped_text=stopped, tested_text="tongue: passed")
    write_rack_card(path, [card, card], paper=paper)
    page = pypdfium2.PdfDocument(path)[0]
    text = page.get_textpage().get_text_bounded()
    assert "2026-12-09" in text
    assert "2026-12-01" not in text
    assert "(9 on record)" in text
    assert "tongue: passed" in text
    picture = page.render(scale=1).to_pil().convert("L")
    middle = picture.height // 2
    for strip in (middle - 6, middle + 8, picture.height - 10):
        row = picture.crop((0, strip, picture.width, strip + 2))
        assert row.getextrema()[0] > 200, "ink where the card is cut or ends"


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
