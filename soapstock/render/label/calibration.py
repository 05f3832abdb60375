"""The calibration page: where this printer really puts a sheet's labels, and by how much it is off.

The maker prints it on plain paper, holds it against a label sheet, reads the shift off the scales
and gives it as --offset, or keeps it in shop.toml as printer_offset.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from reportlab.lib.units import mm

from soapstock.render.label.designs import Sheet
from soapstock.render.label.run import outline
from soapstock.render.pdf.file import new_pdf
from soapstock.render.pdf.geometry import Rect
from soapstock.render.pdf.page import Page

_REACH_MM = 5
_BAR_MM = 50.0
_FIVE = 5
_TICK_MM = (1.2, 2.4)  # a millimetre, five millimetres
HOW = (
    "Print this on plain paper at 100 % (no 'fit to page'), hold it with a label sheet against the"
    " light. If the printed outlines stand 1.5 mm left of and 0.5 mm above the labels, print labels"
    " with --offset 1.5,0.5 (right and down are positive), or write printer_offset = [1.5, 0.5] in"
    " shop.toml once and for all."
)


def _scales(canvas: Any, page: Page, cell: Rect) -> None:
    """Millimetre scales across the upper left corner of the first label, zero at its edges."""
    low = page.height_mm
    for step in range(-_REACH_MM, _REACH_MM + 1):
        tick = _TICK_MM[step % _FIVE == 0]
        x, y = cell.left + step, cell.top + step
        if x >= 0:
            canvas.line(x * mm, (low - cell.top - 8) * mm, x * mm, (low - cell.top - 8 - tick) * mm)
        if y >= 0:
            canvas.line(
                (cell.left + 8) * mm, (low - y) * mm, (cell.left + 8 + tick) * mm, (low - y) * mm
            )


def write_calibration(
    path: Path, sheet: Sheet, *, offset_mm: tuple[float, float] = (0.0, 0.0)
) -> None:
    """The outlines of all labels of a sheet, numbered, with scales and how to use them.

    Args:
        path: the PDF to write.
        sheet: whose labels.
        offset_mm: shift right and down already known, to see whether it is right.

    Raises:
        BadInput: the file cannot be written.
    """
    width, height = sheet.paper_width_mm, sheet.paper_height_mm
    with new_pdf(
        path, width_mm=width, height_mm=height, title=f"Calibration of sheet {sheet.name}"
    ) as canvas:
        canvas.translate(offset_mm[0] * mm, -offset_mm[1] * mm)
        page = Page(canvas=canvas, width_mm=width, height_mm=height)
        canvas.setStrokeGray(0)
        canvas.setLineWidth(0.3)
        for index in range(sheet.per_page):
            cell = sheet.cell(index)
            outline(canvas, sheet, cell)
            spot = Rect(left=cell.right - 12, top=cell.bottom - 8, width=10, height=6)
            page.text(str(index + 1), spot, size_pt=11, align="right")
        first = sheet.cell(0)
        canvas.setLineWidth(0.2)
        _scales(canvas, page, first)
        words = Rect(
            left=first.left + 12,
            top=first.top + 3,
            width=first.width - 15,
            height=first.height - 11,
        )
        if sheet.shape != "rectangle":
            words = words.grown(-first.width / 9, -first.height / 9)
        inset = first.width / 4 if sheet.shape != "rectangle" else 2.0
        bar = min(_BAR_MM, float(int(first.width - 2 * inset - 10)))
        said = f"Sheet {sheet.name}, offset {offset_mm[0]:g}, {offset_mm[1]:g} mm. {HOW}"
        page.text(f"{said} The bar below must measure {bar:.0f} mm.", words, size_pt=9, least_pt=4)
        page.line(first.left + inset, first.bottom - 4, first.left + inset + bar, line_mm=0.6)
        canvas.showPage()
