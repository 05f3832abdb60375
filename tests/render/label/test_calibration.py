"""The calibration page."""

from __future__ import annotations

from math import inf, nan
from pathlib import Path

import pypdfium2
import pytest
from pypdfium2 import raw
from reportlab.lib.units import mm

from soapstock.errors import BadInput
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
        assert "printer_offset" in text.replace("\r\n", "")
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


def test_scales_and_words_keep_off_the_rim_that_office_printers_leave_white(
    folders: list[Path], tmp_path: Path
) -> None:
    """4.2 mm (common practice, no source), but for the outlines, which stand where labels do."""
    rim = 4.2 * mm
    for name in list_sheets(folders):
        sheet = load_sheet(name, folders)
        if sheet.dpi:
            continue  # a thermal printer prints to the edge
        path = tmp_path / f"{name}.pdf"
        write_calibration(path, sheet)
        page = pypdfium2.PdfDocument(path)[0]
        width, height = page.get_size()
        drawn = [each.get_bounds() for each in page.get_objects()]
        inner = [b for b in drawn if b[2] - b[0] < (sheet.label_width_mm - 1) * mm]
        assert len(inner) > sheet.per_page, name  # numbers, ticks, words, bar
        for left, low, right, high in inner:
            assert left >= rim - 0.5, name
            assert low >= rim - 0.5, name
            assert right <= width - rim + 0.5, name
            assert high <= height - rim + 0.5, name


def test_scales_are_whole_where_some_label_stands_inside_the_paper(
    folders: list[Path], tmp_path: Path
) -> None:
    """Eleven ticks each way on a sheet whose labels begin at the paper's edge."""
    path = tmp_path / "c.pdf"
    write_calibration(path, load_sheet("a4-3x8", folders))
    page = pypdfium2.PdfDocument(path)[0]
    boxes = [each.get_bounds() for each in page.get_objects([raw.FPDF_PAGEOBJ_PATH])]
    short = [b for b in boxes if max(b[2] - b[0], b[3] - b[1]) < 3 * mm]
    assert sum(b[3] - b[1] > b[2] - b[0] for b in short) == 11
    assert sum(b[3] - b[1] < b[2] - b[0] for b in short) == 11


@pytest.mark.parametrize("offset", [(nan, nan), (0.0, 25.0), (inf, 0.0)])
def test_an_offset_that_is_none_is_refused(
    offset: tuple[float, float], folders: list[Path], tmp_path: Path
) -> None:
    """Not a number, or a slip of unit: nothing is written."""
    with pytest.raises(BadInput, match="printer offset"):
        write_calibration(tmp_path / "c.pdf", load_sheet("a4-2x4", folders), offset_mm=offset)
    assert not list(tmp_path.iterdir())
