"""Labels to be looked at before they are printed: one with rulers, or every face on one page."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from reportlab.lib.units import mm

from soapstock.errors import BadInput
from soapstock.render.label.designs import Face, Sheet
from soapstock.render.label.draw import LabelDrawer
from soapstock.render.label.items import Layout
from soapstock.render.label.run import LabelJob, layout_of, outline
from soapstock.render.pdf.file import new_pdf
from soapstock.render.pdf.geometry import Rect
from soapstock.render.pdf.page import Align, Page

RULER_MM = 9.0  # for the rulers above and left of the label
_RIM_MM = 4.0
_TICKS_MM = {10: 3.0, 5: 2.0, 1: 1.2}
_GREY = 0.72
_OUTLINE_PT = 0.4
_MARGIN_MM = 8.0
_HEAD_MM = 9.0
_NAME_MM = 5.0  # under each label, for the name of its face
_GAP_MM = 4.0
_SCALES = tuple(percent / 100 for percent in range(100, 19, -4))


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """A laid-out label, its face, and the sheet whose shape it has."""

    face: Face
    sheet: Sheet
    layout: Layout


def _one(face: Face, sheet: Sheet, layout: Layout) -> Sheet:
    """A sheet of this one label, for its outline."""
    return Sheet(
        name=sheet.name,
        about="",
        paper_width_mm=layout.width_mm,
        paper_height_mm=layout.height_mm,
        label_width_mm=layout.width_mm,
        label_height_mm=layout.height_mm,
        corner_mm=sheet.corner_mm,
        shape=face.shape,
    )


def _draw(canvas: Any, shown: Shown, left: float, low: float, scale: float) -> None:
    """The label and its outline, its lower left corner there (mm)."""
    layout = shown.layout
    canvas.saveState()
    canvas.translate(left * mm, low * mm)
    canvas.scale(scale, scale)
    canvas.setFillGray(1)
    canvas.rect(0, 0, layout.width_mm * mm, layout.height_mm * mm, stroke=0, fill=1)
    canvas.setStrokeGray(_GREY)
    canvas.setLineWidth(_OUTLINE_PT / scale)
    alone = _one(shown.face, shown.sheet, layout)
    outline(canvas, alone, alone.cell(0))
    window = canvas.beginPath()
    window.rect(0, 0, layout.width_mm * mm, layout.height_mm * mm)
    canvas.clipPath(window, stroke=0, fill=0)
    LabelDrawer(canvas, shown.face.bleed_mm).draw(layout, 0.0, 0.0, again=False)
    canvas.restoreState()


def _ruler(page: Page, length_mm: float, *, down: bool) -> None:
    """A scale in millimetres from the label's edge, numbered in each ten."""
    canvas, top = page.canvas, page.height_mm
    canvas.setStrokeGray(0)
    canvas.setLineWidth(0.4)
    for step in range(int(length_mm + 1e-6) + 1):
        tick = next(tall for each, tall in _TICKS_MM.items() if step % each == 0)
        at, end = RULER_MM + step, RULER_MM - 1
        if down:
            canvas.line((end - tick) * mm, (top - at) * mm, end * mm, (top - at) * mm)
        else:
            canvas.line(at * mm, (top - end + tick) * mm, at * mm, (top - end) * mm)
        if step % 10 == 0 and step:
            left, high = (0.6, at - 1.5) if down else (at - 3, 1.2)
            spot = Rect(left=left, top=high, width=4.0 if down else 6.0, height=3.4)
            align: Align = "right" if down else "centre"
            page.text(str(step), spot, size_pt=6.3, least_pt=6.0, align=align)


def write_preview(path: Path, job: LabelJob, *, face: Face, sheet: Sheet) -> Layout:
    """One label at its true size with rulers above and left of it, as a one-page PDF; its layout.

    Raises:
        RuleBroken: the wording does not fit the face, or the face not the sheet.
        BadInput: the file cannot be written.
    """
    layout = layout_of(job, face, sheet)
    width = RULER_MM + layout.width_mm + _RIM_MM
    height = RULER_MM + layout.height_mm + _RIM_MM
    with new_pdf(path, width_mm=width, height_mm=height, title=f"Face {face.name}") as canvas:
        page = Page(canvas=canvas, width_mm=width, height_mm=height)
        shown = Shown(face=face, sheet=sheet, layout=layout)
        _draw(canvas, shown, RULER_MM, _RIM_MM, 1.0)
        _ruler(page, layout.width_mm, down=False)
        _ruler(page, layout.height_mm, down=True)
        canvas.showPage()
    return layout


def _rows(shown: Sequence[Shown], width_mm: float, scale: float) -> list[list[Shown]]:
    """Labels side by side as long as the width holds them, the tallest first."""
    rows: list[list[Shown]] = []
    left = 0.0
    for one in sorted(shown, key=lambda one: -one.layout.height_mm):
        wide = one.layout.width_mm * scale
        if not rows or left + wide > width_mm + 1e-6:
            rows.append([])
            left = 0.0
        rows[-1].append(one)
        left += wide + _GAP_MM
    return rows


def _tall(row: Sequence[Shown], scale: float) -> float:
    return max(one.layout.height_mm for one in row) * scale + _NAME_MM + _GAP_MM


def _packed(shown: Sequence[Shown], width: float, height: float) -> tuple[list[list[Shown]], float]:
    """Rows and the largest scale at which all faces stand on the page."""
    for scale in _SCALES:
        rows = _rows(shown, width, scale)
        wide = max(one.layout.width_mm for one in shown) * scale
        if wide <= width and sum(_tall(row, scale) for row in rows) <= height:
            return rows, scale
    raise BadInput(f"{len(shown)} faces do not fit one page", hint="keep fewer faces of your own")


def write_overview(
    path: Path, shown: Sequence[Shown], title: str, paper_mm: tuple[float, float]
) -> None:
    """Labels of one lot on every face, all to one scale on one page.

    Raises:
        BadInput: they do not fit even at a fifth of their size, or the file cannot be written.
    """
    width, height = paper_mm
    rows, scale = _packed(shown, width - 2 * _MARGIN_MM, height - 2 * _MARGIN_MM - _HEAD_MM)
    with new_pdf(path, width_mm=width, height_mm=height, title=title) as canvas:
        page = Page(canvas=canvas, width_mm=width, height_mm=height)
        head = Rect(left=_MARGIN_MM, top=_MARGIN_MM, width=width - 2 * _MARGIN_MM, height=6)
        page.text(f"{title}, at {100 * scale:.0f} % of their size", head, size_pt=10.6)
        top = _MARGIN_MM + _HEAD_MM
        for row in rows:
            left, foot = _MARGIN_MM, top + _tall(row, scale) - _NAME_MM - _GAP_MM
            for one in row:
                _draw(canvas, one, left, height - foot, scale)
                wide = max(one.layout.width_mm * scale, 16.0)
                spot = Rect(left=left, top=foot + 0.6, width=wide, height=3.6)
                page.text(one.face.name, spot, size_pt=7.0, least_pt=6.3)
                left += one.layout.width_mm * scale + _GAP_MM
            top += _tall(row, scale)
        canvas.showPage()
