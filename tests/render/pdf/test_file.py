"""PDF files: whole or not at all, titled, in a language, fonts inside."""

from __future__ import annotations

from pathlib import Path

import pypdfium2
import pytest

from soapstock.errors import BadInput
from soapstock.render.pdf.file import new_pdf, paper_size_mm
from soapstock.render.pdf.fonts import get_font


def test_title_and_language_are_set(tmp_path: Path) -> None:
    """A reader program can say what it is and read it aloud in the right language."""
    path = tmp_path / "x.pdf"
    with new_pdf(path, width_mm=100, height_mm=50, title="Labels", lang="fr") as canvas:
        canvas.drawString(10, 10, "Savon")
        canvas.showPage()
    pdf = pypdfium2.PdfDocument(path)
    assert pdf.get_metadata_value("Title") == "Labels"
    assert b"/Lang" in path.read_bytes()
    assert pdf[0].get_size() == pytest.approx((100 / 25.4 * 72, 50 / 25.4 * 72), abs=0.01)


def test_only_embedded_subset_fonts_are_named(tmp_path: Path) -> None:
    """No font is left to the printer's choice."""
    path = tmp_path / "x.pdf"
    with new_pdf(path, width_mm=100, height_mm=50, title="x") as canvas:
        canvas.setFont(get_font("semibold").name, 12)
        canvas.drawString(10, 10, "Soap")
        canvas.showPage()
    data = path.read_bytes()
    assert b"Helvetica" not in data
    assert b"+SourceSansPro-Semibold" in data
    assert b"/FontFile2" in data


def test_an_error_inside_leaves_nothing(tmp_path: Path) -> None:
    """Half a file is worse than none."""
    with (
        pytest.raises(RuntimeError),
        new_pdf(tmp_path / "x.pdf", width_mm=9, height_mm=9, title="x"),
    ):
        raise RuntimeError
    assert not list(tmp_path.iterdir())


def test_unknown_paper_is_refused() -> None:
    """The message names the papers there are."""
    with pytest.raises(BadInput, match="paper 'a5'"):
        paper_size_mm("a5")
