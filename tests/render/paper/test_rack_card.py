"""The rack card as a maker gets it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import pypdfium2
import pytest

from soapstock.errors import BadInput
from soapstock.render.paper.rack_card import RackCard, ready_text, write_rack_card

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
    ready_early=date(2026, 12, 28),
    ready_expected=date(2027, 1, 6),
    ready_late=date(2027, 1, 20),
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


def test_no_forecast_is_said_in_words() -> None:
    """A missing window is not an empty box."""
    assert "not known yet" in ready_text(replace(CARD, ready_expected=None))


def test_a_window_of_one_day_is_one_date() -> None:
    """The same day three times is said once."""
    day = date(2027, 1, 6)
    card = replace(CARD, ready_early=day, ready_late=day)
    assert ready_text(card) == "6 Jan 2027"


def test_no_cards_are_refused(tmp_path: Path) -> None:
    """Nothing is written for nothing."""
    with pytest.raises(BadInput, match="no rack cards"):
        write_rack_card(tmp_path / "c.pdf", [])
