"""The rack card: what stands on this rack, when it should be ready, and boxes for its weigh-ins.

Two cards to a page of A4 or Letter, to be cut apart.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from soapstock.errors import BadInput
from soapstock.render.pdf.file import new_pdf, paper_size_mm
from soapstock.render.pdf.fonts import SEMIBOLD
from soapstock.render.pdf.geometry import Rect
from soapstock.render.pdf.page import Page

_MARGIN = 11.0
_TABLE = (
    ("Date", 0.16),
    ("Bars weighed", 0.15),
    ("Mass, g", 0.22),
    ("Room, °C", 0.13),
    ("Humidity, %", 0.14),
    ("By", 0.20),
)
_ROW, _ROWS = 6.4, 6
_FACT_MM, _STOP_MM = 12.0, 17.0


@dataclass(frozen=True, slots=True, kw_only=True)
class RackCard:
    """What a rack card says.

    Attributes:
        lot_code: as printed, in groups.
        bars: on the rack; None while in the mould.
        start_mass_text: of one bar when unmoulded, such as `133.0 g`; may be empty.
        declared_text: such as `113 g`; may be empty.
        ready_text: the ready-by in words.
        state: batch state on the day of printing.
        stopped_text: why it may not be sold; empty when nothing stops it.
        note: anything else, or empty.
        tested_text, released_text: the newest test and release; empty boxes are printed without.
        weigh_ins: cells of those on record, oldest first, as the table has them.
    """

    shop_name: str
    recipe_name: str
    lot_code: str
    qr_text: str
    poured_on: date
    unmould_due: date | None
    bars: int | None
    start_mass_text: str
    declared_text: str
    ready_text: str
    state: str
    stopped_text: str = ""
    note: str = ""
    tested_text: str = ""
    released_text: str = ""
    weigh_ins: tuple[tuple[str, ...], ...] = ()


def say_date(day: date | None) -> str:
    """A date for people, such as `3 Jan 2027`; a dash when there is none."""
    return f"{day.day} {day:%b %Y}" if day else "–"


def _head(page: Page, card: RackCard, area: Rect) -> None:
    qr_side = 36.0
    words = area.width - qr_side - 2
    page.text(
        f"{card.shop_name} · rack card",
        Rect(left=area.left, top=area.top, width=words, height=6),
        size_pt=11,
    )
    page.text(
        card.recipe_name,
        Rect(left=area.left, top=area.top + 5.5, width=words, height=15),
        size_pt=34,
        least_pt=14,
        weight=SEMIBOLD,
        leading=1.0,
    )
    page.text(
        card.lot_code,
        Rect(left=area.left, top=area.top + 21, width=words, height=12),
        size_pt=28,
        least_pt=14,
        weight=SEMIBOLD,
    )
    code = Rect(left=area.right - qr_side, top=area.top - 2, width=qr_side, height=qr_side)
    page.qr(card.qr_text, code)


def _facts(page: Page, card: RackCard, left: float, width: float, top: float) -> float:
    """Rows of printed facts, and of boxes for what is still to come; the y below them."""
    fresh = card.bars is None
    out: tuple[tuple[str, str, float], ...] = (
        ("Bars", str(card.bars), 0.15),
        ("One bar when unmoulded", card.start_mass_text or "–", 0.35),
    )
    if fresh:
        out = (
            ("Good bars", "", 0.12),
            ("Rejects", "", 0.12),
            ("Bars weighed", "", 0.13),
            ("Their mass, g", "", 0.2),
        )
    rows = (
        (
            ("Poured", say_date(card.poured_on), 0.25),
            ("Unmould due" if fresh else "Unmoulded", say_date(card.unmould_due), 0.25),
            (
                "Unmoulded on, by" if fresh else "State when printed",
                "" if fresh else card.state,
                0.3,
            ),
            ("Declared weight", card.declared_text or "–", 0.2),
        ),
        (*out, ("Ready by", card.ready_text, 1.0 - sum(share for *_, share in out))),
        (
            ("Free-alkali test: day, how, result, by", card.tested_text, 0.38),
            ("Released: day, by", card.released_text, 0.27),
            ("Note", card.note, 0.35),
        ),
    )
    y = top
    for row in rows:
        x = left
        for label, value, share in row:
            box = Rect(left=x, top=y, width=width * share, height=_FACT_MM)
            page.field(label, box, filled=value)
            x += width * share
        y += _FACT_MM
    return y


def _stop(page: Page, card: RackCard, box: Rect) -> None:
    """White on black, to be read across the room: the batch is stopped, and why."""
    page.frame(box, shade=0)
    left = Rect(left=box.left + 2, top=box.top, width=box.width * 0.42, height=box.height)
    page.text(card.state, left, size_pt=34, least_pt=16, weight=SEMIBOLD, middle=True, white=True)
    right = Rect(
        left=left.right + 2,
        top=box.top + 1,
        width=box.right - left.right - 4,
        height=box.height - 2,
    )
    why = f"Do not sell, do not shelve.\n{card.stopped_text}"
    page.text(why, right, size_pt=12, least_pt=7, middle=True, white=True)


def _weigh_ins(page: Page, known: Sequence[tuple[str, ...]], box: Rect, rows: int) -> None:
    """The newest known weigh-ins and empty rows below them."""
    left, width, top = box.left, box.width, box.top
    shown = known[-((rows + 1) // 2) :]
    more = f" ({len(known)} on record)" if len(known) > len(shown) else ""
    page.text(
        f"Weigh-ins: always the same counted bars, put back on the rack{more}",
        Rect(left=left, top=top, width=width, height=5.5),
        size_pt=10.5,
        weight=SEMIBOLD,
    )
    y = top + 5.6
    x = left
    for column, (label, share) in enumerate(_TABLE):
        head = Rect(left=x, top=y, width=width * share, height=5.2)
        page.frame(head, shade=0.88)
        page.text(label, head.grown(-1, 0), size_pt=9, least_pt=7, middle=True)
        for row in range(rows):
            cell = Rect(left=x, top=y + 5.2 + row * _ROW, width=width * share, height=_ROW)
            page.frame(cell)
            if row < len(shown) and shown[row][column]:
                page.text(shown[row][column], cell.grown(-1, 0), size_pt=11, middle=True)
        x += width * share


def _draw_card(page: Page, card: RackCard, top: float) -> None:
    width = page.width_mm - 2 * _MARGIN
    area = Rect(left=_MARGIN, top=top + 8, width=width, height=34)
    _head(page, card, area)
    y = _facts(page, card, _MARGIN, width, area.bottom + 0.5)
    rows = _ROWS
    if card.stopped_text:
        _stop(page, card, Rect(left=_MARGIN, top=y + 1, width=width, height=_STOP_MM))
        y, rows = y + _STOP_MM + 1, _ROWS - 3
    _weigh_ins(page, card.weigh_ins, Rect(left=_MARGIN, top=y + 2, width=width, height=0), rows)


def write_rack_card(path: Path, cards: Sequence[RackCard], *, paper: str = "a4") -> None:
    """The cards, two to a page with a dashed line between, written whole or not at all.

    Args:
        path: the PDF to write.
        cards: one or more.
        paper: `a4` or `letter`.

    Raises:
        BadInput: no cards, unknown paper, or the file cannot be written.
        RuleBroken: a text that does not fit its place, or a character the font lacks.
    """
    if not cards:
        raise BadInput("no rack cards to print", hint="name at least one lot")
    width, height = paper_size_mm(paper)
    title = "Rack cards " + ", ".join(card.lot_code for card in cards[:5])
    with new_pdf(path, width_mm=width, height_mm=height, title=title) as canvas:
        page = Page(canvas=canvas, width_mm=width, height_mm=height)
        for number, card in enumerate(cards):
            if number and number % 2 == 0:
                canvas.showPage()
            _draw_card(page, card, height / 2 * (number % 2))
            if number % 2 == 0:
                canvas.setDash(4, 4)
                page.line(5, height / 2, width - 5, line_mm=0.15)
                canvas.setDash()
        canvas.showPage()
