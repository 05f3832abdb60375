"""The batch sheet: what to weigh, in figures read at arm's length, and boxes for what was done.

One page of A4 or Letter; only a recipe with very many lines runs on to a second one.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Any, Literal

from soapstock.errors import BadInput
from soapstock.render.pdf.file import new_pdf, paper_size_mm
from soapstock.render.pdf.fonts import REGULAR, SEMIBOLD, get_font
from soapstock.render.pdf.geometry import Rect
from soapstock.render.pdf.page import Page
from soapstock.render.pdf.text import set_lines
from soapstock.units import thermometer

Group = Literal["fats", "lye", "additions"]
_HEADS = {"fats": "FATS", "lye": "LYE AND WATER", "additions": "ADDITIONS"}
_MARGIN = 11.0
_ROW_MOST, _ROW_LEAST, _HEAD = 13.0, 7.2, 5.2
_COLUMNS = (9.0, 0.0, 41.0, 36.0, 38.0)  # tick, material (the rest), weigh out, actual, lot
_RECORDS = (
    ("Start time", "End time", "Lye at mixing, °C", "Fats at mixing, °C"),
    ("Highest lye, °C", "Room, °C", "Room humidity, %", "Trace after, min"),
    ("Batter in mould, g", "Mould", "Unmoulded on", "Bars, and rejects"),
)
_CAUTION_PT = _NOTES_PT = 10.5
_TICKS, _TICK_ROW = 4, 5.2
_FIGURES_PER_ROW = 6
_WEIGH_COLUMN = 2
_RECORD_HEIGHT, _SIGN_HEIGHT, _NOTES_LEAST = 10.5, 12.0, 9.0
SMALL_PRINT = (
    "soapstock helps the maker weigh and record; it does not replace the maker's own care, local"
    " law or professional advice. Weigh lye twice. Write the mass you really weighed, not the plan."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetLine:
    """One thing to weigh.

    Attributes:
        group: part of the table.
        name: of the material.
        mass_text: such as `1320 g`, or what to do when it is not weighed (`to pale green`).
        stage: when it goes in, or empty.
        note: anything else, or empty.
        lots: the lots it would come from, first expired first, or what lacks.
    """

    group: Group
    name: str
    mass_text: str
    stage: str = ""
    note: str = ""
    lots: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class BatchSheet:
    """What a batch sheet says; `lot_code` (in groups) and `qr_text` are the lot to be's.

    Without a lot code it is a recipe sheet, to hand on to a pupil.

    Attributes:
        lines: what to weigh, in order.
        figures: label and value, such as ("Superfat", "3.1 to 6.9 %").
        verdict: safe, check or refuse.
        reasons: of the verdict.
        cautions: printed prominently on top; a sheet that weighs lye without any is refused.
        notes: the recipe's, and its `method`, step by step.
        get_ready: what is to be at hand, each with a box to tick.
        wanted: what is wanted or expected, by the label of the box where it is written.
        paper: `a4` or `letter`.
    """

    shop_name: str
    recipe_name: str
    recipe_code: str
    recipe_version: int
    planned_on: date
    lines: tuple[SheetLine, ...]
    figures: tuple[tuple[str, str], ...]
    verdict: str
    reasons: tuple[str, ...]
    cautions: tuple[str, ...]
    lot_code: str = ""
    qr_text: str = ""
    notes: str = ""
    method: tuple[str, ...] = ()
    get_ready: tuple[str, ...] = ()
    wanted: Mapping[str, str] = field(default_factory=dict)
    paper: str = "a4"


def _box(top: float, page: Page, height: float) -> Rect:
    return Rect(left=_MARGIN, top=top, width=page.width_mm - 2 * _MARGIN, height=height)


def _kind(sheet: BatchSheet) -> str:
    return "batch sheet" if sheet.lot_code else "recipe sheet"


def _header(page: Page, sheet: BatchSheet) -> float:
    """Shop, recipe, lot and its QR code; the y below it."""
    area = _box(9.0, page, 27.0)
    qr_side = 26.0
    words = area.width - qr_side - 62
    left = Rect(left=area.left, top=area.top, width=words, height=6)
    page.text(f"{sheet.shop_name} · {_kind(sheet)}", left, size_pt=11)
    page.text(
        sheet.recipe_name,
        Rect(left=area.left, top=area.top + 5.5, width=words, height=13),
        size_pt=28,
        least_pt=12,
        weight=SEMIBOLD,
        leading=1.0,
    )
    planned = f"{sheet.planned_on.day} {sheet.planned_on:%B %Y}"
    page.text(
        f"recipe {sheet.recipe_code} version {sheet.recipe_version} · for {planned}",
        Rect(left=area.left, top=area.top + 19.5, width=words, height=6),
        size_pt=11,
    )
    if not sheet.lot_code:
        return area.bottom + 0.5
    lot = Rect(left=area.left + words + 1, top=area.top + 2, width=59, height=6)
    page.text("lot of this pour", lot, size_pt=11, align="right")
    page.text(
        sheet.lot_code,
        Rect(left=lot.left, top=lot.top + 5.5, width=59, height=12),
        size_pt=24,
        least_pt=12,
        weight=SEMIBOLD,
        align="right",
    )
    code = Rect(left=area.right - qr_side, top=area.top - 1, width=qr_side, height=qr_side)
    page.qr(sheet.qr_text, code)
    return area.bottom + 0.5


def _halves(texts: list[str], width: float) -> tuple[list[str], list[str]]:
    """The texts in two columns, in order, so that the taller one is as low as can be."""
    font = get_font(REGULAR)
    heights = [set_lines(text, font, _CAUTION_PT, width).height_mm for text in texts]
    cut = min(range(len(texts) + 1), key=lambda n: max(sum(heights[:n]), sum(heights[n:])))
    return texts[:cut], texts[cut:]


def _cautions(page: Page, cautions: Sequence[str], top: float) -> float:
    """The cautions, boxed, in two columns under a black bar; the y below them."""
    if not cautions:
        return top
    bar = _box(top, page, 7.0)
    page.frame(bar, line_mm=0, shade=0)
    page.text(
        "LYE BURNS SKIN AND EYES. Read this before you open it.",
        bar.grown(-2, -0.4),
        size_pt=14,
        weight=SEMIBOLD,
        white=True,
        middle=True,
    )
    width = bar.width / 2 - 3.5
    y_end = bar.bottom
    for column, part in enumerate(_halves([f"• {caution}" for caution in cautions], width)):
        y = bar.bottom + 1.2
        for caution in part:
            box = Rect(left=bar.left + 2 + column * (width + 3), top=y, width=width, height=40)
            y += page.text(caution, box, size_pt=_CAUTION_PT, least_pt=_CAUTION_PT).height_mm + 0.7
        y_end = max(y_end, y)
    page.frame(
        Rect(left=bar.left, top=bar.top, width=bar.width, height=y_end + 0.6 - bar.top), line_mm=0.8
    )
    return y_end + 2.6


def _verdict(page: Page, sheet: BatchSheet, top: float) -> float:
    box = _box(top, page, 9.0)
    bad = sheet.verdict != "safe"
    word = Rect(left=box.left, top=box.top, width=31, height=box.height)
    page.frame(word, line_mm=0.5, shade=0 if bad else 1)
    page.text(
        sheet.verdict.upper(),
        word,
        size_pt=18,
        weight=SEMIBOLD,
        align="centre",
        white=bad,
        middle=True,
    )
    reasons = "; ".join(sheet.reasons) or "the plan's superfat is within the safe range"
    if sheet.verdict == "refuse":
        reasons = f"Do not pour this. {reasons}"
    rest = Rect(left=word.right + 3, top=box.top, width=box.width - 34, height=box.height)
    page.text(reasons, rest, size_pt=11, least_pt=7.5, middle=True)
    return box.bottom + 2


def _figures(page: Page, figures: Sequence[tuple[str, str]], top: float) -> float:
    per_row = max(min(len(figures), _FIGURES_PER_ROW), 1)
    y = top
    for start in range(0, len(figures), per_row):
        area = _box(y, page, 10.5)
        width = area.width / per_row
        for number, (label, value) in enumerate(figures[start : start + per_row]):
            cell = Rect(left=area.left + number * width, top=y, width=width - 1, height=10.5)
            label_box = Rect(left=cell.left, top=y, width=cell.width, height=4)
            page.text(label, label_box, size_pt=8.5, least_pt=7)
            page.text(
                value,
                Rect(left=cell.left, top=y + 3.8, width=cell.width, height=6.6),
                size_pt=13,
                weight=SEMIBOLD,
            )
        y += 11.0
    return y + (1.0 if figures else 0.0)


def _column_lefts(page: Page) -> list[float]:
    fixed = sum(_COLUMNS)
    material = page.width_mm - 2 * _MARGIN - fixed
    lefts = [_MARGIN]
    for width in _COLUMNS:
        lefts.append(lefts[-1] + (width or material))
    return lefts


def _weigh_line(page: Page, line: SheetLine, top: float, height: float) -> None:
    lefts = _column_lefts(page)
    cells = [
        Rect(left=lefts[i], top=top, width=lefts[i + 1] - lefts[i], height=height) for i in range(5)
    ]
    tick = min(height - 3, 6.0)
    page.frame(
        Rect(left=cells[0].left + 1, top=top + (height - tick) / 2, width=tick, height=tick),
        line_mm=0.4,
    )
    name_text = line.name[:1].upper() + line.name[1:]
    under = " · ".join(part for part in (line.stage, line.note) if part)
    name = cells[1].grown(-0.5, -0.4)
    if under:
        page.text(
            name_text,
            Rect(left=name.left, top=name.top, width=name.width, height=height * 0.6 - 0.4),
            size_pt=15,
            least_pt=9,
            keep_lines=True,
            weight=SEMIBOLD,
            leading=1.0,
            middle=True,
        )
        foot = Rect(
            left=name.left, top=top + height * 0.6, width=name.width, height=height * 0.4 - 0.3
        )
        page.text(under, foot, size_pt=9.5, least_pt=6.5, leading=1.0)
    else:
        page.text(
            name_text,
            name,
            size_pt=17,
            least_pt=9,
            weight=SEMIBOLD,
            leading=1.0,
            keep_lines=True,
            middle=True,
        )
    page.text(
        line.mass_text or "as needed",
        cells[2].grown(-1.5, -0.4),
        size_pt=24,
        least_pt=10,
        weight=SEMIBOLD,
        align="right",
        leading=1.0,
        middle=True,
    )
    page.frame(cells[3], line_mm=0.5)
    page.frame(cells[4])
    if line.lots:
        page.text(line.lots, cells[4].grown(-0.8, -0.3), size_pt=11, least_pt=6.5, leading=1.05)
    page.line(lefts[0], top + height, lefts[3], line_mm=0.15)


def _table(page: Page, lines: Sequence[SheetLine], top: float, row: float) -> float:
    """Weigh lines under their group heads; the y below them."""
    lefts = _column_lefts(page)
    y, group = top, ""
    for line in lines:
        if line.group != group:
            page.frame(_box(y, page, _HEAD), line_mm=0, shade=0.88)
            words = (_HEADS[line.group], "weigh out", "weighed, g", "take from lot")
            for index, word in zip((0, 2, 3, 4), words, strict=True):
                first = y == top or index == 0
                width = lefts[2] - lefts[0] - 2 if index == 0 else _COLUMNS[index] - 3
                page.text(
                    word if first else "",
                    Rect(left=lefts[index] + 1, top=y, width=width, height=_HEAD),
                    size_pt=10,
                    weight=SEMIBOLD,
                    align="right" if index == _WEIGH_COLUMN else "left",
                    middle=True,
                )
            y, group = y + _HEAD, line.group
        _weigh_line(page, line, y, row)
        y += row
    return y


def _get_ready(page: Page, things: Sequence[str], top: float) -> float:
    """What is to be at hand, each with its box, row by row; the y below."""
    if not things:
        return top
    area = _box(top, page, _TICK_ROW)
    width = area.width / _TICKS
    page.text(
        "Get ready",
        Rect(left=area.left, top=top, width=width, height=5),
        size_pt=10.5,
        weight=SEMIBOLD,
    )
    for number, thing in enumerate(things, 1):
        y = top + number // _TICKS * _TICK_ROW
        left = area.left + number % _TICKS * width
        page.frame(Rect(left=left, top=y + 0.7, width=3.6, height=3.6), line_mm=0.35)
        box = Rect(left=left + 4.6, top=y, width=width - 5.6, height=_TICK_ROW)
        page.text(thing, box, size_pt=10.5, least_pt=6, middle=True, leading=1.0)
    return top + (len(things) // _TICKS + 1) * _TICK_ROW + 1.0


def _notes(sheet: BatchSheet) -> str:
    steps = [f"{n}. {step}" for n, step in enumerate(sheet.method, 1)]
    return "\n".join([*steps, f"Notes: {sheet.notes}".rstrip()])


def _records(page: Page, top: float, sheet: BatchSheet) -> None:
    """Boxes for what was done, signatures, and lines for notes down to the foot of the page."""
    y = top + 2.5
    for labels in _RECORDS:
        area = _box(y, page, _RECORD_HEIGHT)
        width = area.width / len(labels)
        for number, label in enumerate(labels):
            left = area.left + number * width
            wanted = f" ({sheet.wanted[label]})" if label in sheet.wanted else ""
            box = Rect(left=left, top=y, width=width, height=_RECORD_HEIGHT)
            page.field(label.replace("°C", thermometer(0.0)[1]) + wanted, box)
        y += _RECORD_HEIGHT
    area = _box(y, page, _SIGN_HEIGHT)
    for number, label in enumerate(
        ("Weighed and poured by (signature)", "Lye checked by (signature)")
    ):
        half = area.width / 2
        left = area.left + number * half
        page.field(label, Rect(left=left, top=y, width=half, height=_SIGN_HEIGHT))
    y += _SIGN_HEIGHT + 1.2
    foot = page.height_mm - 15.5
    head = _box(y, page, foot - y)
    used = page.text(_notes(sheet), head, size_pt=_NOTES_PT, least_pt=7.5).height_mm
    y += max(used, 4.0) + 6.5
    while y < foot:
        page.line(_MARGIN, y, page.width_mm - _MARGIN, line_mm=0.1)
        y += 7.5


def _small_print(page: Page, number: int, pages: int) -> None:
    box = _box(page.height_mm - 13.5, page, 8.0)
    more = f" Page {number} of {pages}." if pages > 1 else ""
    page.text(SMALL_PRINT + more, box, size_pt=8, least_pt=7)


def _table_height(lines: Sequence[SheetLine], row: float) -> float:
    heads = sum(1 for i, line in enumerate(lines) if i == 0 or lines[i - 1].group != line.group)
    return heads * _HEAD + len(lines) * row


def _records_height(page: Page, sheet: BatchSheet) -> float:
    width = page.width_mm - 2 * _MARGIN
    notes = sum(
        set_lines(line, get_font(REGULAR), _NOTES_PT, width).height_mm
        for line in _notes(sheet).split("\n")
    )
    boxes = len(_RECORDS) * _RECORD_HEIGHT + _SIGN_HEIGHT
    return 2.5 + boxes + 1.2 + max(_NOTES_LEAST, notes) + 15.5


def _draw(canvas: Any, sheet: BatchSheet, width: float, height: float) -> None:
    page = Page(canvas=canvas, width_mm=width, height_mm=height)
    y = _cautions(page, sheet.cautions, _header(page, sheet))
    y = _figures(page, sheet.figures, _verdict(page, sheet, y))
    y = _get_ready(page, sheet.get_ready, y)
    room = height - y - _records_height(page, sheet)
    row = _ROW_MOST
    while row > _ROW_LEAST and _table_height(sheet.lines, row) > room:
        row -= 0.25
    if _table_height(sheet.lines, row) <= room:
        _records(page, _table(page, sheet.lines, y, row), sheet)
        _small_print(page, 1, 1)
        canvas.showPage()
        return
    row = 10.0
    keep = len(sheet.lines)
    while keep > 1 and _table_height(sheet.lines[:keep], row) > height - y - 16:
        keep -= 1
    _table(page, sheet.lines[:keep], y, row)
    _small_print(page, 1, 2)
    canvas.showPage()
    y = _header(page, sheet)
    _records(page, _table(page, sheet.lines[keep:], y, row), sheet)
    _small_print(page, 2, 2)
    canvas.showPage()


def write_batch_sheet(path: Path, sheet: BatchSheet) -> None:
    """The sheet as a PDF, written whole or not at all.

    Raises:
        BadInput: no lines, lye without cautions, unknown paper, or the file cannot be written.
        RuleBroken: a text that does not fit its place, or a character the font lacks.
    """
    if not sheet.lines:
        raise BadInput("a batch sheet needs something to weigh", hint="scale a recipe first")
    if not sheet.cautions and any(line.group == "lye" for line in sheet.lines):
        raise BadInput(
            "a batch sheet with lye needs its cautions", hint="pass chemistry's lye_cautions"
        )
    width, height = paper_size_mm(sheet.paper)
    title = f"{_kind(sheet).capitalize()} {sheet.recipe_name} {sheet.lot_code}".rstrip()
    with new_pdf(
        path, width_mm=width, height_mm=height, title=title, subject=SMALL_PRINT
    ) as canvas:
        _draw(canvas, sheet, width, height)
