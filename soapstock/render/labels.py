"""Printing labels: any number of lots on one run of sheets or on a roll."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from reportlab.lib.units import mm

from soapstock.errors import BadInput, RuleBroken
from soapstock.render.designs import Face, Sheet
from soapstock.render.geometry import Rect
from soapstock.render.layout import Layout, QrItem, ShapeItem, TextItem, lay_out
from soapstock.render.pages import new_pdf
from soapstock.render.qr import QUIET_MODULES, draw_qr

if TYPE_CHECKING:
    from soapstock.labelling.wording import LabelWording

MAX_LABELS = 100_000
_CUT_GREY = 0.6
_MARK_MM = 3.0


@dataclass(frozen=True, slots=True, kw_only=True)
class LabelJob:
    """So many labels of one wording."""

    wording: LabelWording
    copies: int


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintResult:
    """What was printed.

    Attributes:
        path: the PDF.
        pages: pages in it.
        labels: labels in it.
        warnings: what was left out, and the cautions of the label run.
    """

    path: Path
    pages: int
    labels: int
    warnings: tuple[str, ...]


def _draw_code(canvas: Any, item: QrItem, height_mm: float) -> None:
    quiet = QUIET_MODULES * item.module_mm
    draw_qr(
        canvas,
        item.text,
        left_pt=(item.ink.left + quiet) * mm,
        top_pt=(height_mm - item.ink.top - quiet) * mm,
        module_pt=item.module_mm * mm,
    )


def _draw_text(canvas: Any, item: TextItem, height_mm: float) -> None:
    """The item's lines."""
    text = canvas.beginText()
    text.setFont(item.font.name, item.size_pt)
    for line, left, baseline in item.lines:
        text.setTextOrigin(left * mm, (height_mm - baseline) * mm)
        text.textOut(line)
    canvas.setFillGray(0)
    canvas.drawText(text)


def _draw_shape(canvas: Any, item: ShapeItem, height_mm: float) -> None:
    rect = item.ink
    canvas.setFillGray(0)
    canvas.setLineWidth(item.line_mm * mm)
    fill, stroke = (1, 0) if item.draws == "rule" else (0, 1)
    low = (height_mm - rect.bottom) * mm
    canvas.rect(rect.left * mm, low, rect.width * mm, rect.height * mm, stroke=stroke, fill=fill)


def draw_layout(canvas: Any, layout: Layout) -> None:
    """One label, its lower left corner at the canvas origin."""
    for item in layout.items:
        if isinstance(item, TextItem):
            _draw_text(canvas, item, layout.height_mm)
        elif isinstance(item, QrItem):
            _draw_code(canvas, item, layout.height_mm)
        else:
            _draw_shape(canvas, item, layout.height_mm)


def _check_run(jobs: Sequence[LabelJob], sheet: Sheet, start_at: int) -> int:
    if not 1 <= start_at <= sheet.per_page:
        raise BadInput(
            f"the first label is number {start_at}, but sheet '{sheet.name}' has labels"
            f" 1 to {sheet.per_page}",
            hint="count the labels from the top left, row by row",
        )
    for job in jobs:
        if job.copies < 1:
            raise BadInput(
                f"{job.copies} copies of {job.wording.lot_code}", hint="ask for one or more"
            )
    total = sum(job.copies for job in jobs)
    if not 1 <= total <= MAX_LABELS:
        raise BadInput(
            f"{total} labels in one run", hint=f"print between 1 and {MAX_LABELS} at a time"
        )
    return total


def _face_size(face: Face, sheet: Sheet) -> tuple[float, float]:
    size = face.size_on(sheet)
    if size is None:
        raise RuleBroken(
            f"face '{face.name}' ({face.width_mm:g} x {face.height_mm:g} mm, {face.shape}) does not"
            f" fit the labels of sheet '{sheet.name}' ({sheet.label_width_mm:g} x"
            f" {sheet.label_height_mm:g} mm, {sheet.shape})",
            hint=f"sheets for this face: {', '.join(face.suits) or 'none named'}",
        )
    return size


def _cut_lines(canvas: Any, sheet: Sheet) -> None:
    """Outlines or corner marks to cut plain paper by; nothing on die-cut labels."""
    if sheet.cut == "none":
        return
    canvas.setStrokeGray(_CUT_GREY)
    canvas.setLineWidth(0.25)
    for index in range(sheet.per_page):
        cell = sheet.cell(index)
        low, high = sheet.paper_height_mm - cell.bottom, sheet.paper_height_mm - cell.top
        if sheet.cut == "outline":
            canvas.rect(cell.left * mm, low * mm, cell.width * mm, cell.height * mm)
            continue
        for x, out_x in ((cell.left, -_MARK_MM), (cell.right, _MARK_MM)):
            for y, out_y in ((low, -_MARK_MM), (high, _MARK_MM)):
                canvas.line((x + out_x / 3) * mm, y * mm, (x + out_x) * mm, y * mm)
                canvas.line(x * mm, (y + out_y / 3) * mm, x * mm, (y + out_y) * mm)


def _slots(sheet: Sheet, start_at: int) -> Iterator[tuple[bool, Rect]]:
    """Without end: whether a new page begins, and the place of the next label."""
    index = start_at - 1
    while True:
        yield index == sheet.per_page, sheet.cell(index % sheet.per_page)
        index = index % sheet.per_page + 1


def _print_run(
    canvas: Any, sheet: Sheet, start_at: int, runs_of: Iterator[tuple[str, Layout, int]]
) -> tuple[int, list[str]]:
    pages, warnings = 1, []
    slots = _slots(sheet, start_at)
    _cut_lines(canvas, sheet)
    for form, layout, copies in runs_of:
        canvas.beginForm(form, 0, 0, layout.width_mm * mm, layout.height_mm * mm)
        draw_layout(canvas, layout)
        canvas.endForm()
        warnings += [warning for warning in layout.warnings if warning not in warnings]
        for _ in range(copies):
            new_page, cell = next(slots)
            if new_page:
                canvas.showPage()
                _cut_lines(canvas, sheet)
                pages += 1
            left = cell.left + (cell.width - layout.width_mm) / 2
            low = sheet.paper_height_mm - cell.bottom + (cell.height - layout.height_mm) / 2
            canvas.saveState()
            canvas.translate(left * mm, low * mm)
            canvas.doForm(form)
            canvas.restoreState()
    return pages, warnings


def write_labels(
    path: Path,
    jobs: Sequence[LabelJob],
    *,
    face: Face,
    sheet: Sheet,
    start_at: int = 1,
    title: str,
    heights_mm: Mapping[str, float] | None = None,
    lang: str = "en",
) -> PrintResult:
    """Labels of one or more lots as one PDF; each wording is stored once however many copies.

    Args:
        path: the PDF to write; it appears whole or not at all.
        jobs: what to print, in order; several lots follow each other on the same sheet.
        face: what stands where on a label.
        sheet: where labels stand on the paper.
        start_at: number of the first free label of a part-used sheet, from 1, row by row.
        title: of the PDF.
        heights_mm: least height in mm of the lower-case o by statement kind, as the law has it.
        lang: language of the wording, for the PDF.

    Raises:
        BadInput: nothing to print, start_at off the sheet, the file cannot be written.
        RuleBroken: the wording does not fit the face, or the face not the sheet.
    """
    total = _check_run(jobs, sheet, start_at)
    width, height = _face_size(face, sheet)
    dots = sheet.dpi / 25.4 if sheet.dpi else None

    def layouts() -> Iterator[tuple[str, Layout, int]]:
        for number, job in enumerate(jobs):
            layout = lay_out(
                job.wording,
                face,
                width_mm=width,
                height_mm=height,
                heights_mm=heights_mm,
                dots_per_mm=dots,
            )
            yield f"label{number}", layout, job.copies

    cautions = tuple(dict.fromkeys(c for job in jobs for c in job.wording.cautions))
    with new_pdf(
        path,
        width_mm=sheet.paper_width_mm,
        height_mm=sheet.paper_height_mm,
        title=title,
        subject=" ".join(cautions),
        lang=lang,
    ) as canvas:
        pages, warnings = _print_run(canvas, sheet, start_at, layouts())
        canvas.showPage()
    return PrintResult(path=path, pages=pages, labels=total, warnings=(*warnings, *cautions))
