"""Putting a sign (hourglass, open jar, hand on book) on a label as vector paths."""

from __future__ import annotations

from typing import Any

from reportlab.lib.units import mm

from soapstock.labelling.symbols import SQUARE, Symbol, symbols_for
from soapstock.labelling.wording import LabelWording
from soapstock.render.pdf.geometry import Rect

LEAFLET = "hand-on-book"


def sign_for(wording: LabelWording, kind: str) -> tuple[Symbol, str] | None:
    """The sign that the market knows for a statement, with the text that goes into it.

    The hand on the book stands for a list that is elsewhere, so it needs no statement's leave; the
    others are drawn only when the wording names them.
    """
    if not wording.market or wording.on is None:
        return None
    statement = next((s for s in wording.statements if s.kind == kind), None)
    if statement is None:
        return None
    for symbol in symbols_for(wording.market, wording.on):
        named = symbol.key in (statement.sign, LEAFLET)
        if named and symbol.stands_for == kind and symbol.paths:
            return symbol, statement.sign_text if symbol.text_box else ""
    return None


def text_room(symbol: Symbol, square: Rect) -> Rect | None:
    """The room for the sign's own text inside its square, mm; None when it has none."""
    if symbol.text_box is None:
        return None
    left, bottom, right, top = (edge / SQUARE * square.width for edge in symbol.text_box)
    return Rect(
        left=square.left + left,
        top=square.bottom - top,
        width=right - left,
        height=top - bottom,
    )


def draw_sign(canvas: Any, symbol: Symbol, square: Rect, height_mm: float) -> None:
    """The sign's paths in a square of a label of that height."""
    unit = square.width / SQUARE * mm
    left, low = square.left * mm, (height_mm - square.bottom) * mm
    for drawn in symbol.paths:
        path = canvas.beginPath()
        for step in drawn.steps:
            points = [edge for x, y in step.points for edge in (left + x * unit, low + y * unit)]
            if step.command == "M":
                path.moveTo(*points)
            elif step.command == "L":
                path.lineTo(*points)
            elif step.command == "C":
                path.curveTo(*points)
            else:
                path.close()
        canvas.setLineWidth(symbol.stroke_width * unit)
        canvas.setLineCap(1)
        canvas.setLineJoin(1)
        fill = drawn.paint == "fill"
        canvas.drawPath(path, stroke=0 if fill else 1, fill=1 if fill else 0)
