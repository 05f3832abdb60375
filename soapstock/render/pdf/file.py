"""A PDF written whole or not at all: a temporary file beside it that takes its place at the end."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from soapstock.errors import BadInput
from soapstock.outfile import replacing
from soapstock.render.pdf.fonts import REGULAR, get_font

PAPERS_MM = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}


def paper_size_mm(paper: str) -> tuple[float, float]:
    """Width and height in mm of `a4` or `letter`. Raises BadInput."""
    try:
        return PAPERS_MM[paper.lower()]
    except KeyError:
        raise BadInput(
            f"paper '{paper}' is not known", hint=f"use one of: {', '.join(PAPERS_MM)}"
        ) from None


@contextmanager
def new_pdf(
    path: Path,
    *,
    width_mm: float,
    height_mm: float,
    title: str,
    subject: str = "",
    lang: str = "en",
) -> Iterator[Any]:
    """A ReportLab canvas; the file appears at `path` only when the block ends without an error.

    Each page is ended with `showPage`. The file carries no date of making, so the same input gives
    the same bytes.

    Raises:
        BadInput: the file may not be replaced or written; see `outfile.replacing`.
    """
    with replacing(path, ".pdf") as temporary, temporary.open("wb") as file:
        canvas = Canvas(
            file,
            pagesize=(width_mm * mm, height_mm * mm),
            pageCompression=1,
            invariant=1,
            initialFontName=get_font(REGULAR).name,
            lang=lang,
        )
        canvas.setTitle(title)
        canvas.setSubject(subject)
        canvas.setCreator("soapstock")
        canvas.setAuthor("soapstock")
        canvas.setViewerPreference("DisplayDocTitle", "true")
        yield canvas
        canvas.save()
