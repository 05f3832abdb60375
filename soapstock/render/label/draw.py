"""Drawing laid-out labels on a PDF canvas; what labels share is stored once.

A label printed many times is one form XObject. Labels that differ share a form for what they have
in common with the one before them, so a thousand lots need not store the maker's address each.
"""

from __future__ import annotations

from collections.abc import Iterable
from math import cos, radians, sin
from pathlib import Path
from typing import Any

from reportlab.lib.colors import HexColor
from reportlab.lib.units import mm
from reportlab.lib.utils import ImageReader

from soapstock.errors import BadTable
from soapstock.render.label.items import (
    ArcItem,
    BarcodeItem,
    Item,
    Layout,
    OrnamentItem,
    QrItem,
    ShapeItem,
    SignItem,
    TextItem,
    is_ground,
)
from soapstock.render.label.signs import draw_sign
from soapstock.render.pdf.geometry import Rect
from soapstock.render.pdf.qr import QUIET_MODULES, draw_qr, qr_matrix
from soapstock.render.pdf.vector import draw_svg

MAX_DOTS = 20_000_000  # a label of 102 x 152 mm at 600 dpi has 9 million
_BLACK = 0
_FILLED_AND_OUTLINED = 2  # PDF 32000-1 table 106, text rendering modes
_HATCH_MM = 0.25  # two dots of 203 to the inch


def _begin_text(canvas: Any, item: TextItem | ArcItem) -> Any:
    """A text object in the item's face and colour; a thickened face has an outline as well."""
    canvas.setFillColor(HexColor(item.colour))
    text = canvas.beginText()
    text.setFont(item.font.name, item.size_pt)
    if item.font.thicker_em:
        canvas.setStrokeColor(HexColor(item.colour))
        canvas.setLineWidth(item.font.thicker_em * item.size_pt)
        text.setTextRenderMode(_FILLED_AND_OUTLINED)
    return text


def _draw_text(canvas: Any, item: TextItem, height_mm: float) -> None:
    text = _begin_text(canvas, item)
    if item.font.tracking_em:
        text.setCharSpace(item.font.tracking_em * item.size_pt)
    over = item.font.thicker_em * item.size_pt / 2
    for line, left, baseline in item.lines:
        text.setTextOrigin(left * mm + over, (height_mm - baseline) * mm)
        text.textOut(line)
    if item.font.tracking_em:
        text.setCharSpace(0)
    if item.font.thicker_em:
        text.setTextRenderMode(0)
    canvas.drawText(text)


def _draw_arc(canvas: Any, item: ArcItem, height_mm: float) -> None:
    text = _begin_text(canvas, item)
    for letter, x, y, degrees in item.letters:
        half = item.font.width_mm(letter, item.size_pt) / 2
        turned = radians(degrees)
        across, up = cos(turned), sin(turned)
        text.setTextTransform(
            across, up, -up, across, (x - half * across) * mm, (height_mm - y - half * up) * mm
        )
        text.textOut(letter)
    canvas.drawText(text)


def _white(canvas: Any, rect: Rect, height_mm: float) -> None:
    """White under a code, so that nothing a face lays there takes its quiet zone."""
    canvas.setFillGray(1)
    canvas.rect(
        rect.left * mm,
        (height_mm - rect.bottom) * mm,
        rect.width * mm,
        rect.height * mm,
        stroke=0,
        fill=1,
    )
    canvas.setFillGray(_BLACK)


def _draw_code(canvas: Any, item: QrItem, height_mm: float) -> None:
    _white(canvas, item.ink, height_mm)
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
    _white(canvas, item.ink, height_mm)
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
    if item.image is not None:
        _draw_image(canvas, item.image, rect, height_mm)
        return
    canvas.setLineWidth(item.line_mm * mm)
    canvas.setStrokeColor(HexColor(item.colour))
    canvas.setFillColor(HexColor(item.colour))
    fill, stroke = (1, 0) if item.draws in ("rule", "tile") else (0, 1)
    box = (rect.left * mm, (height_mm - rect.bottom) * mm, rect.width * mm, rect.height * mm)
    if item.oval or item.draws == "ring":
        left, low, across, up = box
        canvas.ellipse(left, low, left + across, low + up, stroke=stroke, fill=fill)
    else:
        canvas.rect(*box, stroke=stroke, fill=fill)


def _hatch(
    canvas: Any, left: float, width: float, number: int, box: Rect, height_mm: float
) -> None:
    """A piece where only black can be printed: solid, then lines, each time further apart."""
    low, up = (height_mm - box.bottom) * mm, box.height * mm
    if number == 0:
        canvas.rect(left * mm, low, width * mm, up, stroke=0, fill=1)
        return
    canvas.setLineWidth(_HATCH_MM * mm)
    apart = _HATCH_MM * (1 + number)
    for step in range(int((width - _HATCH_MM) / apart) + 1):
        x = (left + _HATCH_MM / 2 + step * apart) * mm
        canvas.line(x, low, x, low + up)


def _draw_ornament(canvas: Any, item: OrnamentItem, height_mm: float) -> None:
    canvas.setFillGray(_BLACK)
    canvas.setStrokeGray(_BLACK)
    for number, (left, width, colour) in enumerate(item.pieces):
        if not colour:
            _hatch(canvas, left, width, number, item.ink, height_mm)
            continue
        canvas.setFillColor(HexColor(colour))
        low = (height_mm - item.ink.bottom) * mm
        canvas.rect(left * mm, low, width * mm, item.ink.height * mm, stroke=0, fill=1)
    for stroke in item.strokes:
        canvas.setStrokeColor(HexColor(stroke.colour))
        canvas.setLineWidth(stroke.line_mm * mm)
        path = canvas.beginPath()
        for number, (x, y) in enumerate(stroke.points):
            (path.lineTo if number else path.moveTo)(x * mm, (height_mm - y) * mm)
        canvas.drawPath(path, stroke=1, fill=0)


def _draw(canvas: Any, item: Item, height_mm: float) -> None:
    if isinstance(item, TextItem):
        _draw_text(canvas, item, height_mm)
    elif isinstance(item, ArcItem):
        _draw_arc(canvas, item, height_mm)
    elif isinstance(item, QrItem):
        _draw_code(canvas, item, height_mm)
    elif isinstance(item, BarcodeItem):
        _draw_barcode(canvas, item, height_mm)
    elif isinstance(item, OrnamentItem):
        _draw_ornament(canvas, item, height_mm)
    elif isinstance(item, SignItem):
        canvas.setFillGray(_BLACK)
        canvas.setStrokeGray(_BLACK)
        draw_sign(canvas, item.symbol, item.ink, height_mm)
        if item.figures is not None:
            _draw_text(canvas, item.figures, height_mm)
    else:
        _draw_shape(canvas, item, height_mm)


def draw_items(canvas: Any, items: Iterable[Item], height_mm: float) -> None:
    """Items of one label of that height, its lower left corner at the canvas origin.

    Grounds come first, whatever the order: they lie under the rest.
    """
    canvas.setFillGray(_BLACK)
    canvas.setStrokeGray(_BLACK)
    for item in sorted(items, key=lambda one: not is_ground(one)):
        _draw(canvas, item, height_mm)


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
        if any(is_ground(item) and item not in self._before for item in layout.items):
            common = ()  # a ground of its own would lie over what is shared
        if common and common != self._shared[0]:
            self._shared = (common, self._form(common, layout))
        if common:
            self._canvas.doForm(self._shared[1])
        kept = set(common)
        draw_items(self._canvas, [i for i in layout.items if i not in kept], layout.height_mm)
        self._before = frozenset(layout.items)
