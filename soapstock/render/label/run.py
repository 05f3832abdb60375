"""Printing labels: any number of lots on one run of sheets or on a roll."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from reportlab.lib.units import mm

from soapstock.errors import BadInput, RuleBroken
from soapstock.labelling.wording import LabelWording
from soapstock.render.label.designs import Face, Sheet
from soapstock.render.label.draw import LabelDrawer
from soapstock.render.label.items import Layout, SizeNote
from soapstock.render.label.layout import lay_out
from soapstock.render.label.legal import law_of
from soapstock.render.label.look import Look
from soapstock.render.label.pieces import Printed
from soapstock.render.pdf.file import new_pdf
from soapstock.render.pdf.geometry import Rect
from soapstock.units import dots_per_mm, several

MAX_LABELS = 5_000  # in one run: many years of a small farm's labels for one bar
_CUT_GREY = 0.6
_MARK_MM = 4.0
_MARK_GAP_MM = 1.0
_MOST_OFFSET_MM = 20.0


@dataclass(frozen=True, slots=True, kw_only=True)
class LabelJob:
    """So many labels of one wording.

    Attributes:
        wording: the label's statements.
        copies: how many.
        codes: barcodes by kind, from barcode.codes_for, for faces that carry one.
        panel_cm2: area of the package's principal display panel; the face's own when None.
        surface_cm2: whole surface of the package there is for labelling; the face's when None.
        look: ink, mood and ornaments.
    """

    wording: LabelWording
    copies: int
    codes: Mapping[str, str] = field(default_factory=dict)
    panel_cm2: float | None = None
    surface_cm2: float | None = None
    look: Look = field(default_factory=Look)


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintResult:
    """What was printed.

    Attributes:
        path: the PDF.
        pages: pages in it.
        labels: labels in it.
        warnings: what was left out, and the cautions of the label run.
        sizes: type sizes of the first label, each with the rule that bounds it.
        codes: how the QR code of the first label came out.
    """

    path: Path
    pages: int
    labels: int
    warnings: tuple[str, ...]
    sizes: tuple[SizeNote, ...] = ()
    codes: tuple[str, ...] = ()


def _check_run(sheet: Sheet, start_at: int, offset_mm: tuple[float, float]) -> None:
    if not 1 <= start_at <= sheet.per_page:
        raise BadInput(
            f"the first label is number {start_at}, but sheet '{sheet.name}' has labels"
            f" 1 to {sheet.per_page}",
            hint="count the labels from the top left, row by row",
        )
    check_offset(offset_mm)


def check_offset(offset_mm: tuple[float, float]) -> None:
    """Refuse a printer offset that is no number or a slip of unit. Raises BadInput."""
    if not all(-_MOST_OFFSET_MM <= shift <= _MOST_OFFSET_MM for shift in offset_mm):
        raise BadInput(
            f"printer offset {offset_mm[0]:g}, {offset_mm[1]:g} mm is not within"
            f" {_MOST_OFFSET_MM:g} mm either way",
            hint="measure it on the calibration page, in mm",
        )


def _checked(jobs: Iterable[LabelJob]) -> list[LabelJob]:
    found = list(jobs)
    if not found:
        raise BadInput("there is nothing to print", hint="name a lot")
    for job in found:
        if job.copies < 1:
            raise BadInput(
                f"{several(job.copies, 'copy')} of {job.wording.lot_code}",
                hint="ask for one or more",
            )
    total = sum(job.copies for job in found)
    if total > MAX_LABELS:
        raise BadInput(
            f"{total:,} labels in one run", hint=f"print at most {MAX_LABELS:,} at a time"
        )
    return found


def face_size(face: Face, sheet: Sheet) -> tuple[float, float]:
    """Width and height in mm of the face on that sheet's labels.

    Raises:
        RuleBroken: it does not fit them; the hint names sheets that it fits.
    """
    size = face.size_on(sheet)
    if size is None:
        raise RuleBroken(
            f"face '{face.name}' ({face.width_mm:g} x {face.height_mm:g} mm, {face.shape}) does not"
            f" fit the labels of sheet '{sheet.name}' ({sheet.label_width_mm:g} x"
            f" {sheet.label_height_mm:g} mm, {sheet.shape})",
            hint=f"sheets for this face: {', '.join(face.suits) or 'none named'}",
        )
    return size


def outline(canvas: Any, sheet: Sheet, cell: Rect) -> None:
    """The outline of one label in the sheet's shape."""
    low = (sheet.paper_height_mm - cell.bottom) * mm
    left, width, height = cell.left * mm, cell.width * mm, cell.height * mm
    if sheet.shape != "rectangle":
        canvas.ellipse(left, low, left + width, low + height)
    elif sheet.corner_mm:
        canvas.roundRect(left, low, width, height, sheet.corner_mm * mm)
    else:
        canvas.rect(left, low, width, height)


def _cut_marks(canvas: Any, sheet: Sheet, cell: Rect, bleed_mm: float) -> None:
    """Short lines at the corners, outside the label and its bleed."""
    low, high = sheet.paper_height_mm - cell.bottom, sheet.paper_height_mm - cell.top
    near = bleed_mm + _MARK_GAP_MM
    for x, way_x in ((cell.left, -1), (cell.right, 1)):
        for y, way_y in ((low, -1), (high, 1)):
            canvas.line(
                (x + way_x * near) * mm, y * mm, (x + way_x * (near + _MARK_MM)) * mm, y * mm
            )
            canvas.line(
                x * mm, (y + way_y * near) * mm, x * mm, (y + way_y * (near + _MARK_MM)) * mm
            )


def _cut_lines(canvas: Any, sheet: Sheet, bleed_mm: float) -> None:
    """Outlines or corner marks to cut plain paper by, as one form; nothing on die-cut labels."""
    if sheet.cut == "none":
        return
    if not canvas.hasForm("cut"):
        canvas.beginForm("cut", 0, 0, sheet.paper_width_mm * mm, sheet.paper_height_mm * mm)
        canvas.setStrokeGray(_CUT_GREY)
        canvas.setLineWidth(0.25)
        for index in range(sheet.per_page):
            if sheet.cut == "outline":
                outline(canvas, sheet, sheet.cell(index))
            else:
                _cut_marks(canvas, sheet, sheet.cell(index), bleed_mm)
        canvas.endForm()
    canvas.doForm("cut")


def layout_of(job: LabelJob, face: Face, sheet: Sheet) -> Layout:
    """A job's label as it is printed on that face and sheet, laid out but not drawn.

    Args:
        job: wording, barcodes and the package's areas.
        face: what stands where.
        sheet: whose labels it goes on.

    Raises:
        RuleBroken: the wording does not fit the face, or the face not the sheet.
    """
    width, height = face_size(face, sheet)
    law = law_of(
        job.wording,
        face,
        width_mm=width,
        height_mm=height,
        panel_cm2=job.panel_cm2,
        surface_cm2=job.surface_cm2,
    )
    printed = Printed(
        wording=job.wording,
        face=face,
        law=law,
        look=job.look,
        codes=job.codes,
        dots_per_mm=dots_per_mm(sheet.dpi) if sheet.dpi else None,
        corner_mm=sheet.corner_mm,
    )
    return lay_out(printed, width_mm=width, height_mm=height)


class _Run:
    """Labels on their way to paper: the next free place on the sheets."""

    def __init__(
        self, canvas: Any, face: Face, sheet: Sheet, start_at: int, offset_mm: tuple[float, float]
    ) -> None:
        self._canvas, self._sheet, self._offset_mm = canvas, sheet, offset_mm
        self._bleed_mm = face.bleed_mm
        self._drawer = LabelDrawer(canvas, face.bleed_mm)
        self._index, self.pages, self.done = start_at - 1, 0, 0
        self._begin_page()

    def _begin_page(self) -> None:
        self.pages += 1
        right, down = self._offset_mm
        self._canvas.translate(right * mm, -down * mm)
        _cut_lines(self._canvas, self._sheet, self._bleed_mm)

    def put(self, layout: Layout, copies: int) -> None:
        """So many copies of a label on the next free places."""
        for _ in range(copies):
            if self._index == self._sheet.per_page:
                self._canvas.showPage()
                self._begin_page()
                self._index = 0
            cell = self._sheet.cell(self._index)
            left = cell.left + (cell.width - layout.width_mm) / 2
            low = self._sheet.paper_height_mm - cell.bottom
            low += (cell.height - layout.height_mm) / 2
            self._drawer.draw(layout, left, low, again=copies > 1)
            self._index += 1
            self.done += 1


def write_labels(
    path: Path,
    jobs: Iterable[LabelJob],
    *,
    face: Face,
    sheet: Sheet,
    title: str,
    start_at: int = 1,
    offset_mm: tuple[float, float] = (0.0, 0.0),
) -> PrintResult:
    """Labels of one or more lots as one PDF; what they share is stored once.

    Args:
        path: the PDF to write; it appears whole or not at all.
        jobs: what to print, in order; several lots follow each other on the same sheet.
        face: what stands where on a label.
        sheet: where labels stand on the paper.
        title: of the PDF.
        start_at: number of the first free label of a part-used sheet, from 1, row by row.
        offset_mm: how far this printer must shift everything right and down (calibration page).

    Raises:
        BadInput: nothing to print, over MAX_LABELS labels, start_at off the sheet, the file cannot
            be written.
        RuleBroken: the wording does not fit the face, or the face not the sheet.
    """
    _check_run(sheet, start_at, offset_mm)
    chosen = _checked(jobs)
    cautions = dict.fromkeys(c for job in chosen for c in job.wording.cautions)
    warnings: dict[str, None] = {}
    first: Layout | None = None
    with new_pdf(
        path,
        width_mm=sheet.paper_width_mm,
        height_mm=sheet.paper_height_mm,
        title=title,
        subject=" ".join(cautions),
        lang=chosen[0].wording.language or "en",
    ) as canvas:
        run = _Run(canvas, face, sheet, start_at, offset_mm)
        for job in chosen:
            layout = layout_of(job, face, sheet)
            first = first or layout
            warnings |= dict.fromkeys(layout.warnings)
            run.put(layout, job.copies)
        canvas.showPage()
    return PrintResult(
        path=path,
        pages=run.pages,
        labels=run.done,
        warnings=(*warnings, *cautions),
        sizes=first.sizes if first else (),
        codes=first.codes() if first else (),
    )
