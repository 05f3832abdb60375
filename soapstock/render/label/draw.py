"""Drawing laid-out labels on a PDF canvas; what labels share is stored once.

A label printed many times is one form XObject. Labels that differ share a form for what they have
in common with the one before them, so a thousand lots need not store the maker's address each.
"""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import Any

from reportlab.lib.units import mm
from reportlab.lib.utils import ImageReader

from soapstock.errors import BadTable
from soapstock.render.label.items import (
    BarcodeItem,
    Item,
    Layout,
    QrItem,
    ShapeItem,
    SignItem,
    TextItem,
)
from soapstock.render.label.signs import draw_sign
from soapstock.render.pdf.geometry import Rect
from soapstock.render.pdf.qr import QUIET_MODULES, draw_qr, qr_matrix
from soapstock.render.pdf.vector import draw_svg

MAX_DOTS = 20_000_000  # a label of 102 x 152 mm at 600 dpi has 9 million
_BLACK = 0


def _draw_text(canvas: Any, item: TextItem, height_mm: float) -> None:
    text = canvas.beginText()
    text.setFont(item.font.name, item.size_pt)
    for line, left, baseline in item.lines:
        text.setTextOrigin(left * mm, (height_mm - baseline) * mm)
        text.textOut(line)
    canvas.drawText(text)


def _draw_code(canvas: Any, item: QrItem, height_mm: float) -> None:
    module = item.plan.module_mm
    quiet = QUIET_MODULES * module
    draw_qr(
        canvas,
        qr_matrix(item.text, item.plan.level, item.plan.version),
        left_pt=(item.ink.left + quiet) * mm,
        top_pt=(height_mm - item.ink.top - quiet) * mm,
        module_pt=module * mm,
    )


def _draw_barcode(canvas: Any, item: BarcodeItem, height_mm: float) -> None:
    low = (height_mm - item.bars_top - item.bars_height) * mm
    path = canvas.beginPath()
    for left, width in item.bars:
        path.rect(left * mm, low, width * mm, item.bars_height * mm)
    canvas.drawPath(path, stroke=0, fill=1)
    _draw_text(canvas, item.figures, height_mm)


def _picture(file: Path) -> ImageReader:
    """A picture, read to its end before anything of it is drawn. Raises BadTable."""
    if not file.is_file():
        raise BadTable(
            f"there is no picture {file}", hint="put it there, or mend image in the face"
        )
    try:
        picture = ImageReader(str(file))
        across, down = picture.getSize()
        if across * down <= MAX_DOTS:
            picture.getRGBData()
    except Exception as err:  # the library raises whatever its picture reader does
        if "truncated" in str(err).lower():
            raise BadTable(f"picture {file} is cut short", hint="save or copy it again") from err
        raise BadTable(
            f"picture {file} cannot be used", hint="give a PNG, JPEG or SVG file"
        ) from err
    if across * down > MAX_DOTS:
        raise BadTable(
            f"picture {file} has {across} x {down} dots",
            hint=f"save it smaller: at most {MAX_DOTS // 1_000_000} million dots",
        )
    return picture


def _draw_image(canvas: Any, file: Path, rect: Rect, height_mm: float) -> None:
    if not file.is_file():
        raise BadTable(f"there is no picture {file}", hint="put it there, or mend the face's image")
    if file.suffix.lower() == ".svg":
        draw_svg(canvas, file, rect, height_mm)
        return
    canvas.drawImage(
        _picture(file),
        rect.left * mm,
        (height_mm - rect.bottom) * mm,
        rect.width * mm,
        rect.height * mm,
        preserveAspectRatio=True,
        mask="auto",
    )


def _draw_shape(canvas: Any, item: ShapeItem, height_mm: float) -> None:
    rect = item.ink
    low = (height_mm - rect.bottom) * mm
    if item.image is not None:
        _draw_image(canvas, item.image, rect, height_mm)
        return
    canvas.setLineWidth(item.line_mm * mm)
    if item.draws == "ring":
        canvas.ellipse(rect.left * mm, low, rect.right * mm, low + rect.height * mm)
        return
    fill, stroke = (1, 0) if item.draws == "rule" else (0, 1)
    canvas.rect(rect.left * mm, low, rect.width * mm, rect.height * mm, stroke=stroke, fill=fill)


def draw_items(canvas: Any, items: Iterable[Item], height_mm: float) -> None:
    """Items of one label of that height, its lower left corner at the canvas origin."""
    canvas.setFillGray(_BLACK)
    canvas.setStrokeGray(_BLACK)
    for item in items:
        if isinstance(item, TextItem):
            _draw_text(canvas, item, height_mm)
        elif isinstance(item, QrItem):
            _draw_code(canvas, item, height_mm)
        elif isinstance(item, BarcodeItem):
            _draw_barcode(canvas, item, height_mm)
        elif isinstance(item, SignItem):
            draw_sign(canvas, item.symbol, item.ink, height_mm)
            if item.figures is not None:
                _draw_text(canvas, item.figures, height_mm)
        else:
            _draw_shape(canvas, item, height_mm)


class LabelDrawer:
    """Draws labels one after another on one canvas and keeps what they share.

    Args:
        canvas: the PDF canvas.
        bleed_mm: how far a label's print may run over its edge.
    """

    def __init__(self, canvas: Any, bleed_mm: float) -> None:
        self._canvas = canvas
        self._bleed_mm = bleed_mm
        self._forms = 0
        self._whole: tuple[Layout | None, str] = (None, "")
        self._before: frozenset[Item] = frozenset()
        self._shared: tuple[tuple[Item, ...], str] = ((), "")

    def _form(self, items: Iterable[Item], layout: Layout) -> str:
        self._forms += 1
        name = f"label{self._forms}"
        over = self._bleed_mm * mm
        self._canvas.beginForm(
            name, -over, -over, layout.width_mm * mm + over, layout.height_mm * mm + over
        )
        draw_items(self._canvas, items, layout.height_mm)
        self._canvas.endForm()
        return name

    def draw(self, layout: Layout, left_mm: float, low_mm: float, *, again: bool) -> None:
        """One label with its lower left corner there.

        Args:
            layout: of the label.
            left_mm: from the left edge of the paper.
            low_mm: from the lower edge of the paper.
            again: the same layout is drawn more than once.
        """
        self._canvas.saveState()
        self._canvas.translate(left_mm * mm, low_mm * mm)
        if again:
            if self._whole[0] is not layout:
                self._whole = (layout, self._form(layout.items, layout))
            self._canvas.doForm(self._whole[1])
        else:
            self._draw_once(layout)
        self._canvas.restoreState()

    def _draw_once(self, layout: Layout) -> None:
        common = tuple(item for item in layout.items if item in self._before)
        if common and common != self._shared[0]:
            self._shared = (common, self._form(common, layout))
        if common:
            self._canvas.doForm(self._shared[1])
        kept = set(common)
        draw_items(self._canvas, [i for i in layout.items if i not in kept], layout.height_mm)
        self._before = frozenset(layout.items)
