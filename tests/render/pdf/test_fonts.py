"""The embedded fonts and their measurements."""

from __future__ import annotations

import pytest

from soapstock.errors import BadTable, RuleBroken
from soapstock.render.pdf.fonts import clean, get_font
from soapstock.units import MM_PER_PT


def test_a_character_the_font_lacks_is_named() -> None:
    """No black boxes: the message names the character by sign, code and name."""
    with pytest.raises(RuleBroken, match=r"the name.*U\+1F9FC, BAR OF SOAP"):
        clean("Soap 🧼", get_font("regular"), "the name")


def test_a_control_character_is_refused() -> None:
    """A stray tab or escape is not printed as nothing."""
    with pytest.raises(RuleBroken, match=r"U\+0009"):
        clean("Soap\tbar", get_font("regular"), "the name")


def test_a_letter_with_a_loose_accent_is_composed() -> None:
    """An e and a combining acute are printed as the one letter é."""
    assert clean("Cafe\u0301", get_font("regular"), "x") == "Café"


@pytest.mark.parametrize("char", "éèüßñçŒœžåØ€£°½℮–’“”±×≤≥")
@pytest.mark.parametrize("weight", ["regular", "semibold"])
def test_western_european_letters_are_there(char: str, weight: str) -> None:
    """Labels in English, French, German, Spanish and Dutch can be set."""
    assert clean(char, get_font(weight), "x") == char


def test_size_for_a_height_gives_that_height() -> None:
    """Height to size and back is the same height."""
    font = get_font("semibold")
    assert font.size_for_pt(3.2, "o") * MM_PER_PT * font.height_em("o") == pytest.approx(3.2)


def test_an_unknown_weight_is_a_bad_design() -> None:
    """A face that asks for a weight we do not ship is told so."""
    with pytest.raises(BadTable, match="no font weight 'black'"):
        get_font("black")
