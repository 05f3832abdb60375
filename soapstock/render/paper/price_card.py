"""Price cards of 90 by 55 mm to cut and stand beside the bars, as many on a page as fit."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from soapstock.render.pdf.file import new_pdf, paper_size_mm
from soapstock.render.pdf.fonts import REGULAR, SEMIBOLD
from soapstock.render.pdf.geometry import Rect
from soapstock.render.pdf.page import Page

WIDE, HIGH, INSIDE = 90.0, 55.0, 5.0


@dataclass(frozen=True, slots=True, kw_only=True)
class PriceCard:
    """What one card says: the bar's name, its price with the currency, and what that is for."""

    name: str
    price: str
    of: str
    shop_name: str


def write_price_cards(path: Path, cards: Sequence[PriceCard], *, paper: str) -> int:
    """The cards as a PDF, each framed by the line to cut along; how many pages it has.

    Raises:
        BadInput: unknown paper size, or the file cannot be written; RuleBroken: a text too long.
    """
    width, height = paper_size_mm(paper)
    across, down = int((width - 16) // WIDE), int((height - 16) // HIGH)
    left, top = (width - across * WIDE) / 2, (height - down * HIGH) / 2
    each = across * down
    with new_pdf(path, width_mm=width, height_mm=height, title="Price cards") as canvas:
        for first in range(0, len(cards), each):
            page = Page(canvas=canvas, width_mm=width, height_mm=height)
            for n, card in enumerate(cards[first : first + each]):
                row, column = divmod(n, across)
                _draw(page, card, left + column * WIDE, top + row * HIGH)
            canvas.showPage()
    return -(-len(cards) // each)


def _draw(page: Page, card: PriceCard, left: float, top: float) -> None:
    page.frame(Rect(left=left, top=top, width=WIDE, height=HIGH), line_mm=0.1)
    width = WIDE - 2 * INSIDE

    def line(text: str, down: float, high: float, size_pt: float, weight: str = REGULAR) -> None:
        box = Rect(left=left + INSIDE, top=top + down, width=width, height=high)
        page.text(text, box, size_pt=size_pt, least_pt=8, align="centre", weight=weight)

    line(card.name, 5, 13, 24, SEMIBOLD)
    line(card.price, 19, 17, 34, SEMIBOLD)
    line(card.of, 37, 6, 10)
    line(card.shop_name, 46, 6, 9)
