"""A page as a picture."""

from __future__ import annotations

from pathlib import Path

import pytest

from soapstock.errors import BadInput
from soapstock.render.pdf.file import new_pdf
from soapstock.render.pdf.page_picture import page_to_png


@pytest.fixture
def pdf(tmp_path: Path) -> Path:
    """An A4 page with a line on it."""
    path = tmp_path / "c.pdf"
    with new_pdf(path, width_mm=210, height_mm=297, title="t") as canvas:
        canvas.line(0, 0, 100, 100)
        canvas.showPage()
    return path


def test_a_page_becomes_a_picture(pdf: Path, tmp_path: Path) -> None:
    """The PNG is as large as the page at 150 dots an inch."""
    from PIL import Image

    page_to_png(pdf, tmp_path / "c.png")
    with Image.open(tmp_path / "c.png") as picture:
        assert picture.size == pytest.approx((210 / 25.4 * 150, 297 / 25.4 * 150), abs=2)


def test_a_picture_in_a_folder_that_is_not_there_is_refused(pdf: Path, tmp_path: Path) -> None:
    """One clear line, and nothing half-written."""
    with pytest.raises(BadInput, match="cannot be written"):
        page_to_png(pdf, tmp_path / "none" / "c.png")
