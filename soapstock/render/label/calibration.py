"""The calibration page: where this printer really puts a sheet's labels, and by how much it is off.

The maker prints it on plain paper, holds it against a label sheet, reads the shift off the scales
and gives it as the printer's offset, or keeps it in shop.toml. All but the labels' outlines stays
off the rim of the paper, where an office printer does not print.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from reportlab.lib.units import mm

from soapstock.render.label.designs import Sheet
from soapstock.render.label.run import check_offset, outline
from soapstock.render.pdf.file import new_pdf
from soapstock.render.pdf.geometry import Rect
from soapstock.render.pdf.page import Page

_RIM_MM = 4.2  # what office printers leave white; common practice, no source
_REACH_MM = 5
_FIVE = 5
_TICK_MM = (1.2, 2.4)  # a millimetre, five millimetres
_INSET_MM = 12.0  # keeps words and bar clear of the scales
_BAR_MM = 50.0
HOW = (
    "Print this on plain paper at 100 % (no 'fit to page'), hold it with a label sheet against the"
    " light. If the printed outlines stand 1.5 mm left of and 0.5 mm above the labels, the offset"
    " of this printer is 1.5,0.5 (right and down are positive). Give it with the labels, or write"
    " printer_offset = [1.5, 0.5] in shop.toml once and for all."
)


def _corner(sheet: Sheet, rim: float) -> Rect:
    """The first label whose upper left corner has room for whole scales; else the first of all."""
    least = rim + _REACH_MM
    cells = [sheet.cell(index) for index in range(sheet.per_page)]
    across = [cell for cell in cells if cell.left >= least] or cells
    return next((cell for cell in across if cell.top >= least), across[0])


def _scales(canvas: Any, page: Page, cell: Rect, rim: float) -> None:
    """Millimetre scales across the upper left corner of a label, zero at its edges."""
    low = page.height_mm
    for step in range(-_REACH_MM, _REACH_MM + 1):
        tick = _TICK_MM[step % _FIVE == 0]
        x, y = cell.left + step, cell.top + step
        if x >= rim:
            canvas.line(x * mm, (low - cell.top - 8) * mm, x * mm, (low - cell.top - 8 - tick) * mm)
        if y >= rim:
            canvas.line(
                (cell.left + 8) * mm, (low - y) * mm, (cell.left + 8 + tick) * mm, (low - y) * mm
            )


def _words(page: Page, sheet: Sheet, offset_mm: tuple[float, float]) -> None:
    """What to do, and a bar that shows whether the print was scaled, in the first label."""
    first, straight = sheet.cell(0), sheet.shape == "rectangle"
    inset = _INSET_MM if straight else first.width / 4
    bar = min(_BAR_MM, float(int(first.width - inset - (16 if straight else inset + 10))))
    room = Rect(
        left=first.left + _INSET_MM,
        top=first.top + 4.5,
        width=first.width - 1.5 * _INSET_MM,
        height=first.height - 12.5,
    )
    if not straight:
        room = room.grown(-first.width / 9, -first.height / 9)
    said = f"Sheet {sheet.name}, offset {offset_mm[0]:g}, {offset_mm[1]:g} mm. {HOW}"
    page.text(f"{said} The bar below must measure {bar:.0f} mm.", room, size_pt=9, least_pt=4)
    below = first.bottom - (5.0 if straight else first.height / 6)
    page.line(first.left + inset, below, first.left + inset + bar, line_mm=0.6)


def write_calibration(
    path: Path, sheet: Sheet, *, offset_mm: tuple[float, float] = (0.0, 0.0)
) -> None:
    """The outlines of all labels of a sheet, numbered, with scales and how to use them.

    Args:
        path: the PDF to write.
        sheet: whose labels.
        offset_mm: shift right and down already known, to see whether it is right.

    Raises:
        BadInput: an offset of more than 20 mm, or the file cannot be written.
    """
    check_offset(offset_mm)
    width, height = sheet.paper_width_mm, sheet.paper_height_mm
    rim = 0.0 if sheet.dpi else _RIM_MM
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
            top = cell.bottom - (11 if sheet.shape == "rectangle" else cell.height / 2 + 3)
            spot = Rect(left=cell.right - 15, top=top, width=10, height=6)
            page.text(str(index + 1), spot, size_pt=11, align="right")
        canvas.setLineWidth(0.2)
        _scales(canvas, page, _corner(sheet, rim), rim)
        _words(page, sheet, offset_mm)
        canvas.showPage()
