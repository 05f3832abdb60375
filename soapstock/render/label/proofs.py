"""Proofs of a label: its picture, and its words, places and sizes as text that can be compared."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from soapstock.render.label.items import ArcItem, BarcodeItem, Layout, QrItem, SignItem, TextItem
from soapstock.render.pdf.geometry import Rect
from soapstock.render.pdf.page_picture import page_image, write_png
from soapstock.units import dots_per_mm

PICTURE_DPI = 120
_COLOURS = 16
_FINER = 3


def _place(rect: Rect) -> str:
    return f"{rect.left:.2f},{rect.top:.2f} {rect.width:.2f}x{rect.height:.2f}"


def proof_text(layout: Layout) -> str:
    """Every item of a laid-out label, one a line: place and size in mm, type size, words.

    Rules of the type sizes follow. Places are from the label's upper left corner.
    """
    lines = [f"label {layout.width_mm:g} x {layout.height_mm:g} mm"]
    for item in layout.items:
        place = _place(item.ink)
        if isinstance(item, TextItem):
            words = " / ".join(line for line, _, _ in item.lines)
            lines.append(
                f"{'+'.join(item.holds) or 'words'} [{place}] {item.size_pt:.2f} pt: {words}"
            )
        elif isinstance(item, QrItem):
            plan = item.plan
            lines.append(
                f"qr [{place}] level {plan.level}, module {plan.module_mm:.3f} mm: {item.text}"
            )
        elif isinstance(item, BarcodeItem):
            lines.append(f"{item.symbology} [{place}]: {item.figures.lines[0][0]}")
        elif isinstance(item, SignItem):
            inside = f": {item.figures.lines[0][0]}" if item.figures else ""
            lines.append(f"sign {item.symbol.key} [{place}]{inside}")
        elif isinstance(item, ArcItem):
            lines.append(f"{'+'.join(item.holds)} [{place}] {item.size_pt:.2f} pt: {item.text}")
        else:
            lines.append(f"{item.draws} [{place}]")
    for note in layout.sizes:
        lines.append(
            f"type of {note.kind}: {note.letter_mm:.2f} mm, at least {note.least_mm:.2f} mm"
            f" ({note.rule})"
        )
    return "\n".join([*lines, *(f"note: {warning}" for warning in layout.warnings)]) + "\n"


def _fine(pdf: Path) -> Any:
    """The first page, drawn larger and made smaller, so that hairlines keep their thickness."""
    return page_image(pdf, PICTURE_DPI * _FINER).convert("RGB").reduce(_FINER)


def write_picture(pdf: Path, picture: Path, *, area_mm: Rect) -> None:
    """The part of the first page of a PDF as a small PNG of few colours.

    Args:
        pdf: the file.
        picture: the PNG to write.
        area_mm: the part, from the page's upper left corner.

    Raises:
        BadInput: the `camera` extra is not installed, or the picture cannot be written.
    """
    page = _fine(pdf)
    dots = dots_per_mm(PICTURE_DPI)
    box = (area_mm.left, area_mm.top, area_mm.right, area_mm.bottom)
    left, top, right, bottom = (round(edge * dots) for edge in box)
    part = page.crop((max(left, 0), max(top, 0), right, bottom)).quantize(_COLOURS)
    write_png(part, picture, optimize=True)


def write_page(pdf: Path, picture: Path) -> None:
    """The first page of a PDF as a small PNG of few colours. Raises as write_picture."""
    page = _fine(pdf)
    write_png(page.quantize(_COLOURS), picture, optimize=True)
