"""What to do when text does not fit its box: the three cheapest mends, with figures."""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil

from soapstock.render.label.designs import Block
from soapstock.render.label.items import words_for
from soapstock.render.pdf.fonts import Font
from soapstock.render.pdf.geometry import Rect
from soapstock.render.pdf.text import TooWideError, set_lines

_MOST_GROWTH = 6
_LEAST_ROOM_MM = 5.0
_FREE_WORDS = {"name", "identity", "maker"}  # the maker's own words; the rest the law or facts set
_SHORTEN_AT_MOST = 0.4  # of the text; beyond it shortening is no advice


def _height(text: str, font: Font, size_pt: float, width: float, leading: float) -> float | None:
    try:
        return set_lines(text, font, size_pt, width, leading).height_mm
    except TooWideError:
        return None


def _bigger(text: str, box: Rect, font: Font, size_pt: float, block: Block) -> str:
    """How much more height, or else width, the box needs."""
    need = _height(text, font, size_pt, box.width, block.leading)
    if need is not None and need <= max(box.height, _LEAST_ROOM_MM) * _MOST_GROWTH:
        return f"a bigger face, with {ceil(need - box.height)} mm more height for it"
    wider = box.width
    while wider < box.width * _MOST_GROWTH:
        wider += 1.0
        need = _height(text, font, size_pt, wider, block.leading)
        if need is not None and need <= box.height:
            return f"a bigger face, with {ceil(wider - box.width)} mm more width for it"
    return "a much bigger face"


def _shorter(text: str, box: Rect, font: Font, size_pt: float, block: Block) -> str:
    """How many characters too many there are; empty when that is most of them."""
    for less in range(1, int(len(text) * _SHORTEN_AT_MOST) + 1):
        need = _height(text[:-less], font, size_pt, box.width, block.leading)
        if need is not None and need <= box.height:
            return f"shorten it by about {less} characters"
    return ""


def mends_for(
    *,
    text: str,
    box: Rect,
    font: Font,
    size_pt: float,
    block: Block,
    drop: Sequence[str],
    face: str = "",
) -> str:
    """Up to three mends, cheapest first: drop what is not required, shorten, bigger label, tag.

    Args:
        text: what does not fit.
        box: where it should stand.
        font: it is set in.
        size_pt: the smallest size allowed.
        block: of the face.
        drop: statement kinds in the block that no rule requires and a recall does not need.
        face: its name; what does not fit a tag is not sent to a tag.
    """
    mends = [f"leave out {words_for([kind])}, which no rule asks for" for kind in drop[:1]]
    free = bool(_FREE_WORDS & set(block.holds) or block.text)
    if free:
        mends.append(_shorter(text, box, font, size_pt, block))
    mends.append(_bigger(text, box, font, size_pt, block))
    if not free and face != "tag":
        mends.append("put it on a tag or card with the bar (face 'tag')")
    return "; or ".join([mend for mend in mends if mend][:3])
