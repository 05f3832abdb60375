"""Printing labels: any number of lots on one run of sheets or on a roll."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from itertools import chain
from pathlib import Path
from typing import TYPE_CHECKING, Any

from reportlab.lib.units import mm

from soapstock.errors import BadInput, RuleBroken
from soapstock.render.label.designs import Face, Sheet
from soapstock.render.label.draw import LabelDrawer
from soapstock.render.label.items import Layout, SizeNote
from soapstock.render.label.layout import Printed, lay_out
from soapstock.render.label.legal import law_of
from soapstock.render.pdf.file import end_page, new_pdf
from soapstock.render.pdf.geometry import Rect
from soapstock.render.pdf.tags import tags_of

if TYPE_CHECKING:
    from soapstock.labelling.wording import LabelWording

MAX_LABELS = 100_000
_CUT_GREY = 0.6
_MARK_MM = 4.0
_MARK_GAP_MM = 1.0
_MOST_OFFSET_MM = 20.0
Progress = Callable[[int, int], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class LabelJob:
    """So many labels of one wording.

    Attributes:
        wording: the label's statements.
        copies: how many.
        codes: barcodes by kind, from barcode.codes_for, for faces that carry one.
        panel_cm2: area of the package's principal display panel; the face's own when None.
        surface_cm2: whole surface of the package there is for labelling; the face's when None.
    """

    wording: LabelWording
    copies: int
    codes: Mapping[str, str] = field(default_factory=dict)
    panel_cm2: float | None = None
    surface_cm2: float | None = None


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
    if not all(-_MOST_OFFSET_MM <= shift <= _MOST_OFFSET_MM for shift in offset_mm):
        raise BadInput(
            f"printer offset {offset_mm[0]:g}, {offset_mm[1]:g} mm is more than"
            f" {_MOST_OFFSET_MM:g} mm",
            hint="measure it on the calibration page, in mm",
        )


def _check_total(total: int) -> None:
    if not 1 <= total <= MAX_LABELS:
        raise BadInput(
            f"{total} labels in one run", hint=f"print between 1 and {MAX_LABELS} at a time"
        )


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
    with tags_of(canvas).artifact():
        canvas.doForm("cut")


@dataclass(frozen=True, slots=True, kw_only=True)
class _Run:
    """One run of labels on its way to paper."""

    canvas: Any
    face: Face
    sheet: Sheet
    start_at: int
    offset_mm: tuple[float, float]
    total: int
    progress: Progress | None

    def _begin_page(self) -> None:
        right, down = self.offset_mm
        self.canvas.translate(right * mm, -down * mm)
        _cut_lines(self.canvas, self.sheet, self.face.bleed_mm)

    def print(
        self, layouts: Iterator[tuple[Layout, int]]
    ) -> tuple[int, int, list[str], Layout | None]:
        """Draw all labels; pages, labels, warnings and the first label's layout."""
        tags = tags_of(self.canvas)
        drawer = LabelDrawer(self.canvas, self.face.bleed_mm)
        index, pages, done, first = self.start_at - 1, 1, 0, None
        warnings: dict[str, None] = {}
        self._begin_page()
        for layout, copies in layouts:
            first = first or layout
            warnings |= dict.fromkeys(layout.warnings)
            _check_total(done + copies)
            for _ in range(copies):
                if index == self.sheet.per_page:
                    end_page(self.canvas)
                    self._begin_page()
                    index, pages = 0, pages + 1
                cell = self.sheet.cell(index)
                left = cell.left + (cell.width - layout.width_mm) / 2
                low = self.sheet.paper_height_mm - cell.bottom
                low += (cell.height - layout.height_mm) / 2
                with tags.content():
                    drawer.draw(layout, left, low, again=copies > 1)
                index, done = index + 1, done + 1
            if self.progress is not None:
                self.progress(done, self.total)
        end_page(self.canvas)
        return pages, done, list(warnings), first


def write_labels(
    path: Path,
    jobs: Iterable[LabelJob],
    *,
    face: Face,
    sheet: Sheet,
    total: int | None = None,
    start_at: int = 1,
    title: str,
    offset_mm: tuple[float, float] = (0.0, 0.0),
    panel_cm2: float | None = None,
    surface_cm2: float | None = None,
    lang: str = "",
    progress: Progress | None = None,
) -> PrintResult:
    """Labels of one or more lots as one PDF; what they share is stored once.

    Args:
        path: the PDF to write; it appears whole or not at all.
        jobs: what to print, in order; several lots follow each other on the same sheet.
        face: what stands where on a label.
        sheet: where labels stand on the paper.
        total: how many labels the jobs come to; the jobs are then taken one at a time as they are
            printed. When None they are all taken first and counted.
        start_at: number of the first free label of a part-used sheet, from 1, row by row.
        title: of the PDF.
        offset_mm: how far this printer must shift everything right and down (calibration page).
        panel_cm2: area of the package's principal display panel, for all jobs; else the job's own.
        surface_cm2: whole surface of the package there is for labelling; the face's when None.
        lang: language of the PDF; the first wording's own when empty.
        progress: told after each job how many labels are done, and of how many.

    Raises:
        BadInput: nothing to print, start_at off the sheet, the file cannot be written.
        RuleBroken: the wording does not fit the face, or the face not the sheet.
    """
    _check_run(sheet, start_at, offset_mm)
    if total is None:
        jobs = list(jobs)
        total = sum(job.copies for job in jobs)
    _check_total(total)
    width, height = face_size(face, sheet)
    waiting = iter(jobs)
    head = next(waiting, None)
    if head is None:
        raise BadInput("there is nothing to print", hint="name a lot")
    cautions: dict[str, None] = {}

    def layouts() -> Iterator[tuple[Layout, int]]:
        for job in chain([head], waiting):
            if job.copies < 1:
                raise BadInput(
                    f"{job.copies} copies of {job.wording.lot_code}", hint="ask for one or more"
                )
            cautions.update(dict.fromkeys(job.wording.cautions))
            law = law_of(
                job.wording,
                face,
                width_mm=width,
                height_mm=height,
                panel_cm2=panel_cm2 or job.panel_cm2,
                surface_cm2=surface_cm2 or job.surface_cm2,
            )
            printed = Printed(
                wording=job.wording,
                face=face,
                law=law,
                codes=job.codes,
                dots_per_mm=sheet.dpi / 25.4 if sheet.dpi else None,
                corner_mm=sheet.corner_mm,
            )
            yield lay_out(printed, width_mm=width, height_mm=height), job.copies

    with new_pdf(
        path,
        width_mm=sheet.paper_width_mm,
        height_mm=sheet.paper_height_mm,
        title=title,
        lang=lang or head.wording.language or "en",
    ) as canvas:
        run = _Run(
            canvas=canvas,
            face=face,
            sheet=sheet,
            start_at=start_at,
            offset_mm=offset_mm,
            total=total,
            progress=progress,
        )
        pages, done, warnings, first = run.print(layouts())
        canvas.setSubject(" ".join(cautions))
    return PrintResult(
        path=path,
        pages=pages,
        labels=done,
        warnings=(*warnings, *cautions),
        sizes=first.sizes if first else (),
        codes=first.codes() if first else (),
    )
