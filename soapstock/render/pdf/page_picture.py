"""A page of a PDF as a PNG picture: needs the `camera` extra (pypdfium2 and pillow)."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from soapstock.errors import BadInput
from soapstock.outfile import replacing
from soapstock.units import POINTS_PER_INCH

DOTS_PER_INCH = 150


def page_image(pdf: Path, dpi: float) -> Any:
    """The first page of a PDF as an image in memory.

    Raises:
        BadInput: the camera extra is not installed.
    """
    try:
        import pypdfium2  # noqa: PLC0415 - an extra
        from PIL import Image  # noqa: F401, PLC0415 - pypdfium2 hands over its pictures
    except ImportError:
        raise BadInput(
            "pictures of PDFs need the camera extra",
            hint="install it with: pip install 'soapstock[camera]', or write a .pdf",
        ) from None
    document = pypdfium2.PdfDocument(pdf)
    try:
        return document[0].render(scale=dpi / POINTS_PER_INCH).to_pil()
    finally:
        document.close()


def write_png(image: Any, picture: Path, **how: Any) -> None:
    """An image as a PNG file, written whole or not at all. Raises BadInput when it cannot be."""
    with replacing(picture, ".png") as temporary:
        image.save(temporary, format="PNG", **how)


def page_to_png(pdf: Path, picture: Path) -> None:
    """Draw the first page of a PDF into a PNG file, written whole or not at all.

    Raises:
        BadInput: the camera extra is not installed, or the picture cannot be written.
    """
    write_png(page_image(pdf, DOTS_PER_INCH), picture)
