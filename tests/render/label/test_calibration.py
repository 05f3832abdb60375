"""The calibration page."""

from __future__ import annotations

from pathlib import Path

import pypdfium2
import pytest

from soapstock.render.label.calibration import write_calibration
from soapstock.render.label.designs import list_sheets, load_sheet


def test_every_shipped_sheet_has_a_page_with_all_labels_numbered(
    folders: list[Path], tmp_path: Path
) -> None:
    """The last label's number, the sheet's name and the way to use it stand on it."""
    for name in list_sheets(folders):
        sheet = load_sheet(name, folders)
        path = tmp_path / f"{name}.pdf"
        write_calibration(path, sheet)
        text = pypdfium2.PdfDocument(path)[0].get_textpage().get_text_bounded()
        assert name in text.replace("\r\n", "")
        assert "--offset" in text
        assert str(sheet.per_page) in text


def test_a_known_offset_moves_the_print(folders: list[Path], tmp_path: Path) -> None:
    """2 mm right and 3 mm down moves every word by just that."""
    sheet, boxes = load_sheet("a4-2x4", folders), []
    for offset in ((0.0, 0.0), (2.0, 3.0)):
        path = tmp_path / "c.pdf"
        write_calibration(path, sheet, offset_mm=offset)
        page = pypdfium2.PdfDocument(path)[0].get_textpage()
        index = page.get_text_range().rindex("8")
        boxes.append(page.get_charbox(index))
    left, bottom = (boxes[1][i] - boxes[0][i] for i in (0, 1))
    assert left / 72 * 25.4 == pytest.approx(2.0, abs=0.01)
    assert bottom / 72 * 25.4 == pytest.approx(-3.0, abs=0.01)
