"""A page of a PDF as a PNG picture: needs the `camera` extra (pypdfium2 and pillow)."""

from __future__ import annotations

import os
from pathlib import Path

from soapstock.errors import BadInput, cannot_write

DOTS_PER_INCH = 150


def page_to_png(pdf: Path, picture: Path, *, page: int = 0) -> None:
    """Draw one page of a PDF into a PNG file, written whole or not at all.

    Args:
        pdf: the file to draw.
        picture: the PNG to write.
        page: from 0.

    Raises:
        BadInput: the camera extra is not installed, or the picture cannot be written.
    """
    try:
        import pypdfium2  # noqa: PLC0415 - an extra
        from PIL import Image  # noqa: F401, PLC0415 - pypdfium2 hands over its pictures
    except ImportError:
        raise BadInput(
            "a .png needs the camera extra",
            hint="install it with: pip install 'soapstock[camera]', or write a .pdf",
        ) from None
    document = pypdfium2.PdfDocument(pdf)
    try:
        drawn = document[page].render(scale=DOTS_PER_INCH / 72.0).to_pil()
    finally:
        document.close()
    temporary = picture.with_name(picture.name + ".part")
    try:
        drawn.save(temporary, format="PNG")
        os.replace(temporary, picture)
    except OSError as err:
        temporary.unlink(missing_ok=True)
        raise cannot_write(picture, err) from err
