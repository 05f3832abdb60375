"""Text on the circle of a round label, along its upper or its lower half."""

from __future__ import annotations

from math import cos, degrees, pi, radians, sin

from soapstock.errors import RuleBroken
from soapstock.render.label.items import ArcItem, words_for
from soapstock.render.label.pieces import TextPiece
from soapstock.render.label.stack import steps
from soapstock.render.pdf.geometry import Rect
from soapstock.units import MM_PER_PT

_MOST_DEGREES = 150.0  # of the circle; a reader does not turn the label further


def _letters(
    piece: TextPiece, size_pt: float, label: Rect, radius_mm: float, *, low: bool
) -> tuple[tuple[str, float, float, float], ...]:
    font = piece.font
    mid_x, mid_y = label.left + label.width / 2, label.top + label.height / 2
    track = font.tracking_em * size_pt * MM_PER_PT
    along = -font.width_mm(piece.text, size_pt) / 2
    placed = []
    for letter in piece.text:
        width = font.width_mm(letter, size_pt)
        turn = (along + width / 2) / radius_mm  # radians from the middle of the half
        angle = -pi / 2 + turn if low else pi / 2 - turn
        x, y = mid_x + radius_mm * cos(angle), mid_y - radius_mm * sin(angle)
        placed.append((letter, x, y, degrees(turn) if low else -degrees(turn)))
        along += width + track
    return tuple(placed)


def lay_arc(piece: TextPiece, label: Rect, colour: str) -> ArcItem:
    """The text along the circle.

    In the upper half the tops of its capitals stand `inset_mm` from the edge, in the lower half
    their feet do, so that both lie in one ring.

    Raises:
        RuleBroken: it is longer than 150 degrees even at its least size.
    """
    block, font = piece.block, piece.font
    low = block.valign == "bottom"
    for size_pt in steps(block.size_pt, piece.least_pt):
        radius = min(label.width, label.height) / 2 - block.inset_mm
        if not low:
            radius -= font.cap_height * size_pt * MM_PER_PT
        if font.width_mm(piece.text, size_pt) > radius * radians(_MOST_DEGREES):
            continue
        return ArcItem(
            holds=piece.holds,
            text=piece.text,
            font=font,
            size_pt=size_pt,
            letters=_letters(piece, size_pt, label, radius, low=low),
            colour=colour,
        )
    raise RuleBroken(
        f"{words_for(piece.holds) or piece.text} is too long for the ring of the face",
        hint="shorten it, or take a bigger label",
    )
