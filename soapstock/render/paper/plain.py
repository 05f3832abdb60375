"""Plain papers of any length: headed facts and tables. Pick lists, packing slips, batch records.

Nothing is cut off: cells wrap, rows move to the next page whole, a short table moves there whole
too, and each page repeats its title and says which of how many it is.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from soapstock.errors import BadInput, RuleBroken
from soapstock.render.pdf.file import new_pdf, paper_size_mm
from soapstock.render.pdf.fonts import REGULAR, SEMIBOLD, clean, get_font
from soapstock.render.pdf.geometry import Rect
from soapstock.render.pdf.page import Page
from soapstock.render.pdf.text import TooWideError, set_lines

MARGIN, TOP, FOOT = 14.0, 30.0, 16.0
BODY_PT, HEAD_PT, TITLE_PT = 10.0, 12.0, 20.0
GAP_MM, CELL_GAP_MM = 1.2, 2.0
QR_MM = 20.0
BAR_MM = 3.0
SHORT_ROWS = 12  # a table of no more rows stands on one page


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """A table's column: its head, its share of the width, and whether figures stand right.

    A column with `bars` draws each cell, a figure from 0 to 1, as a bar of that length.
    """

    head: str
    share: float = 1.0
    right: bool = False
    bars: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """A heading with facts (label and value), a table, or a line of text; any may be empty."""

    heading: str = ""
    facts: tuple[tuple[str, str], ...] = ()
    columns: tuple[Column, ...] = ()
    rows: tuple[tuple[str, ...], ...] = ()
    text: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Paper:
    """A paper to print; `qr_text` may be empty."""

    title: str
    subtitle: str = ""
    shop_name: str = ""
    qr_text: str = ""
    sections: tuple[Section, ...] = ()
    foot: str = ""
    paper: str = "a4"


@dataclass(slots=True)
class _Pen:
    """Where on which page the next row goes; `pages` collects what to draw on each."""

    width: float
    bottom: float
    pages: list[list[tuple[float, list[_Cell], bool]]] = field(default_factory=lambda: [[]])
    y: float = TOP

    def put(self, cells: list[_Cell], *, rule: bool = False, keep: float = 0.0) -> None:
        """Place a row; on the next page when it, and `keep` mm after it, do not fit here."""
        height = max((cell.height_mm for cell in cells), default=0.0)
        if self.y + height + keep > self.bottom and self.pages[-1]:
            self.pages.append([])
            self.y = TOP
        self.pages[-1].append((self.y, cells, rule))
        self.y += height + GAP_MM


@dataclass(frozen=True, slots=True, kw_only=True)
class _Cell:
    text: str
    left: float
    width: float
    height_mm: float
    size_pt: float = BODY_PT
    weight: str = REGULAR
    right: bool = False
    bar: float | None = None


def _cell(text: str, left: float, width: float, **more: Any) -> _Cell:
    font = get_font(more.get("weight", REGULAR))
    checked = clean(text, font, f"the text '{text[:30]}'")
    try:
        height = set_lines(checked, font, more.get("size_pt", BODY_PT), width).height_mm
    except TooWideError as err:
        raise RuleBroken(
            f"the word '{err.word[:40]}' is too wide for its place", hint="shorten it"
        ) from err
    return _Cell(text=text, left=left, width=width, height_mm=height + 0.2, **more)


def _lay_out(pen: _Pen, section: Section) -> None:
    if section.heading:
        pen.y += 2.0
        pen.put(
            [_cell(section.heading, MARGIN, pen.width, size_pt=HEAD_PT, weight=SEMIBOLD)],
            keep=max(14.0, _whole_mm(pen, section)),
            rule=True,
        )
    if section.text:
        for part in section.text.split("\n"):
            pen.put([_cell(part, MARGIN, pen.width)])
    label_mm = 48.0
    for label, value in section.facts:
        pen.put(
            [
                _cell(label, MARGIN, label_mm - CELL_GAP_MM),
                _cell(value, MARGIN + label_mm, pen.width - label_mm, weight=SEMIBOLD),
            ]
        )
    if section.columns:
        pen.put(
            _row(pen, section.columns, tuple(c.head for c in section.columns), SEMIBOLD),
            keep=8.0,
            rule=True,
        )
        for row in section.rows:
            pen.put(_row(pen, section.columns, row, REGULAR))


def _whole_mm(pen: _Pen, section: Section) -> float:
    """Height of a short table with its head; 0 for a long one, which may be broken."""
    if not 0 < len(section.rows) <= SHORT_ROWS:
        return 0.0
    heads = tuple(column.head for column in section.columns)
    rows = (heads, *section.rows)
    cells = [_row(pen, section.columns, row, REGULAR) for row in rows]
    return sum(max(cell.height_mm for cell in row) + GAP_MM for row in cells)


def _row(
    pen: _Pen, columns: tuple[Column, ...], texts: tuple[str, ...], weight: str
) -> list[_Cell]:
    whole = sum(column.share for column in columns)
    cells, left = [], MARGIN
    for column, text in zip(columns, texts, strict=True):
        width = pen.width * column.share / whole
        if column.bars and text != column.head:
            cells.append(_Cell(text="", left=left, width=width, height_mm=BAR_MM, bar=float(text)))
            left += width
            continue
        cells.append(_cell(text, left, width - CELL_GAP_MM, weight=weight, right=column.right))
        left += width
    return cells


def _draw(canvas: Any, paper: Paper, pen: _Pen, width: float, height: float) -> None:
    count = len(pen.pages)
    for number, rows in enumerate(pen.pages, 1):
        page = Page(canvas=canvas, width_mm=width, height_mm=height)
        _head(page, paper, pen.width)
        for top, cells, rule in rows:
            for cell in cells:
                if cell.bar is not None:
                    long = max(0.2, cell.bar * cell.width)
                    bar = Rect(left=cell.left, top=top + 0.8, width=long, height=BAR_MM)
                    page.frame(bar, line_mm=0.1, shade=0.6)
                    continue
                box = Rect(left=cell.left, top=top, width=cell.width, height=cell.height_mm + 0.3)
                page.text(
                    cell.text,
                    box,
                    size_pt=cell.size_pt,
                    least_pt=cell.size_pt,
                    weight=cell.weight,
                    align="right" if cell.right else "left",
                )
            if rule:
                below = top + max(cell.height_mm for cell in cells) + 0.4
                page.line(MARGIN, below, MARGIN + pen.width, line_mm=0.2)
        foot = Rect(left=MARGIN, top=height - FOOT + 3, width=pen.width, height=9)
        page.text(f"{paper.foot} Page {number} of {count}.".strip(), foot, size_pt=8, least_pt=6)
        canvas.showPage()


def _head(page: Page, paper: Paper, width: float) -> None:
    room = width - (QR_MM + 3 if paper.qr_text else 0)
    shop = Rect(left=MARGIN, top=9, width=room, height=5)
    page.text(paper.shop_name, shop, size_pt=9, least_pt=6)
    title = Rect(left=MARGIN, top=13, width=room, height=9)
    page.text(paper.title, title, size_pt=TITLE_PT, least_pt=9, weight=SEMIBOLD)
    under = Rect(left=MARGIN, top=22, width=room, height=6)
    page.text(paper.subtitle, under, size_pt=10, least_pt=6.5)
    if paper.qr_text:
        box = Rect(left=MARGIN + width - QR_MM, top=7.5, width=QR_MM, height=QR_MM)
        page.qr(paper.qr_text, box)


def write_paper(path: Path, paper: Paper) -> int:
    """The paper as a PDF, written whole or not at all; how many pages it has.

    Raises:
        BadInput: unknown paper size, or the file cannot be written.
        RuleBroken: a character the font lacks, or a word wider than its place.
    """
    return write_papers(path, [paper])


def write_papers(path: Path, papers: Sequence[Paper]) -> int:
    """Papers of one size as one PDF, each begun on a new page; as `write_paper` each."""
    if not papers or not all(paper.title.strip() for paper in papers):
        raise BadInput("a paper needs a title")
    width, height = paper_size_mm(papers[0].paper)
    pens = []
    for paper in papers:
        pen = _Pen(width=width - 2 * MARGIN, bottom=height - FOOT)
        for section in paper.sections:
            _lay_out(pen, section)
        pens.append(pen)
    with new_pdf(path, width_mm=width, height_mm=height, title=papers[0].title) as canvas:
        for paper, pen in zip(papers, pens, strict=True):
            _draw(canvas, paper, pen, width, height)
    return sum(len(pen.pages) for pen in pens)
