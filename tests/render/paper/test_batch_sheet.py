"""The batch sheet as a maker gets it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import pypdfium2
import pytest

from soapstock.errors import BadInput
from soapstock.render.paper.batch_sheet import BatchSheet, SheetLine, write_batch_sheet

LINES = (
    SheetLine(group="fats", name="Beef tallow", mass_text="1320 g"),
    SheetLine(group="fats", name="Coconut oil", mass_text="529 g"),
    SheetLine(group="lye", name="Sodium hydroxide", mass_text="298 g", note="98 % pure"),
    SheetLine(group="lye", name="Water", mass_text="596 g"),
    SheetLine(group="additions", name="Kaolin", mass_text="21 g", stage="at trace"),
    SheetLine(group="additions", name="Blue clay", mass_text="to pale blue", stage="at trace"),
)
SHEET = BatchSheet(
    shop_name="Heronwick Saltings",
    recipe_name="Driftwood",
    recipe_code="DRF",
    recipe_version=2,
    lot_code="DRF-26329-AK",
    qr_text="DRF26329AK",
    planned_on=date(2026, 11, 25),
    lines=LINES,
    figures=(("Superfat", "3.1 to 6.9 %"), ("Lye peak about", "93 °C")),
    verdict="safe",
    reasons=("superfat within the safe range",),
    cautions=("Wear goggles and gloves.", "Add lye to water, never water to lye."),
)


def _pages(path: Path, sheet: BatchSheet) -> list[str]:
    write_batch_sheet(path, sheet)
    return [page.get_textpage().get_text_bounded() for page in pypdfium2.PdfDocument(path)]


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_one_page_holds_cautions_masses_and_boxes(tmp_path: Path, paper: str) -> None:
    """Everything a pour needs is on the one page."""
    pages = _pages(tmp_path / "s.pdf", replace(SHEET, paper=paper, lines=LINES * 2))
    assert len(pages) == 1
    for word in (
        "never water to lye",
        "1320 g",
        "298 g",
        "to pale blue",
        "DRF-26329-AK",
        "SAFE",
        "Start time",
        "End time",
        "Trace",
        "signature",
        "Heronwick Saltings",
    ):
        assert word in pages[0]


def test_masses_are_set_large(tmp_path: Path) -> None:
    """Read with wet hands at arm's length: figures of weigh lines are at least 4 mm high."""
    path = tmp_path / "s.pdf"
    write_batch_sheet(path, SHEET)
    page = pypdfium2.PdfDocument(path)[0].get_textpage()
    found = page.search("1320 g").get_next()
    assert found is not None
    _left, bottom, _right, top = page.get_charbox(found[0])
    assert (top - bottom) / 72 * 25.4 >= 4.0


def test_a_very_long_recipe_runs_on_to_a_second_page_with_its_lot(tmp_path: Path) -> None:
    """No line is lost and the second page says whose it is."""
    lines = tuple(replace(LINES[0], name=f"Fat number {n}") for n in range(25)) + LINES
    pages = _pages(tmp_path / "s.pdf", replace(SHEET, lines=lines, paper="letter"))
    assert len(pages) == 2
    assert all("DRF-26329-AK" in page for page in pages)
    assert all(f"Fat number {n}" in "".join(pages) for n in range(25))


def test_a_refused_plan_says_do_not_pour(tmp_path: Path) -> None:
    """Nobody should pour from a sheet that is refused."""
    page = _pages(tmp_path / "s.pdf", replace(SHEET, verdict="refuse", reasons=("lye heavy",)))[0]
    assert "REFUSE" in page
    assert "Do not pour this. lye heavy" in page


def test_lye_without_cautions_is_not_printed(tmp_path: Path) -> None:
    """A lye weight never stands without its cautions."""
    with pytest.raises(BadInput, match="needs its cautions"):
        write_batch_sheet(tmp_path / "s.pdf", replace(SHEET, cautions=()))
    assert not list(tmp_path.iterdir())


def test_nothing_to_weigh_is_refused(tmp_path: Path) -> None:
    """An empty sheet is a slip."""
    with pytest.raises(BadInput, match="something to weigh"):
        write_batch_sheet(tmp_path / "s.pdf", replace(SHEET, lines=()))
