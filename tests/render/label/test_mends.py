"""Mends offered for text that does not fit."""

from __future__ import annotations

from soapstock.render.label.designs import Block
from soapstock.render.label.mends import mends_for
from soapstock.render.pdf.fonts import get_font
from soapstock.render.pdf.geometry import Edges, Rect
from soapstock.render.pdf.text import set_lines

FONT = get_font("regular")
EDGES = Edges(left_mm=0, width_mm=40, top_mm=0, height_mm=9)
BLOCK = Block(draws="text", holds=("maker",), edges=EDGES)
BOX = Rect(left=0, top=0, width=40, height=9)
TEXT = (
    "Ingredients: Adeps Bovis, Cocos Nucifera Oil, Aqua, Olea Europaea Fruit Oil, Sodium Hydroxide"
)


def _mends(text: str = TEXT, drop: tuple[str, ...] = ()) -> list[str]:
    hint = mends_for(text=text, box=BOX, font=FONT, size_pt=8, block=BLOCK, drop=drop)
    return hint.split("; or ")


def test_the_height_named_is_enough() -> None:
    """A label higher by the millimetres named holds the text."""
    higher = next(m for m in _mends() if "more height" in m)
    need = set_lines(TEXT, FONT, 8, 40).height_mm
    assert BOX.height + int(higher.split()[4]) >= need


def test_the_characters_named_are_enough() -> None:
    """Shortened by that many, it fits."""
    short = next(m for m in _mends() if "shorten" in m)
    less = int(short.split()[4])
    assert set_lines(TEXT[:-less], FONT, 8, 40).height_mm <= BOX.height


def test_what_no_rule_asks_for_is_dropped_first_and_there_are_three_at_most() -> None:
    """The cheapest comes first."""
    mends = _mends(drop=("made",))
    assert "leave out the date it was made" in mends[0]
    assert len(mends) == 3


def test_what_the_law_or_facts_set_is_not_told_to_be_shortened() -> None:
    """An ingredient list has no spare words."""
    block = Block(draws="text", holds=("ingredients",), edges=EDGES)
    hint = mends_for(text=TEXT, box=BOX, font=FONT, size_pt=8, block=block, drop=())
    assert "shorten" not in hint
    assert "more height" in hint


def test_a_text_far_too_long_is_not_told_to_be_shortened() -> None:
    """Cutting most of it away is no advice."""
    assert not any("shorten" in mend for mend in _mends(TEXT * 10))


def test_a_tag_is_offered_for_facts_but_not_for_a_name_nor_on_the_tag_itself() -> None:
    """A tag is narrower than the face: a name too long for one is too long for the other."""
    facts = Block(draws="text", holds=("ingredients",), edges=EDGES)
    said = [
        mends_for(text=TEXT, box=BOX, font=FONT, size_pt=8, block=block, drop=(), face=face)
        for block, face in ((facts, "panel"), (facts, "tag"), (BLOCK, "panel"))
    ]
    assert ["tag" in hint for hint in said] == [True, False, False]
