"""The season page as it is printed."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pypdfium2

from soapstock.desk.desk import Desk
from soapstock.enter.money import Terms, charge
from soapstock.papers.season import write_season
from soapstock.views.season import season
from tests.desks import moneyless as desk
from tests.views.test_season import SOLD

__all__ = ["desk"]

FIRST, LAST = date(2026, 8, 1), date(2026, 11, 20)


def pages_of(path: Path) -> list[str]:
    """The text of each page."""
    with pypdfium2.PdfDocument(path) as pdf:
        return [page.get_textpage().get_text_bounded() for page in pdf]


def test_the_page_says_sales_by_state_how_stock_is_valued_and_what_it_is_not(
    desk: Desk, tmp_path: Path
) -> None:
    """All that the view holds, and no advice."""
    for entry in SOLD:
        charge(desk, entry, Terms(price="7.50"))
    write_season(desk, season(desk, FIRST, LAST), tmp_path / "s.pdf")
    told = " ".join(" ".join(pages_of(tmp_path / "s.pdf")).split())
    for words in ("2026-10 ME 9 67.50", "2026-10 VT 4 30.00", "2026-11 NH 5 37.50"):
        assert words in told
    assert "Stock is valued by each lot at its own cost" in told
    assert "nothing here is tax advice" in told


def test_a_short_table_stands_on_one_page(desk: Desk, tmp_path: Path) -> None:
    """The animals' bars with their head, though some of their rows would fit on the first page."""
    write_season(desk, season(desk, FIRST, LAST), tmp_path / "s.pdf")
    pages = pages_of(tmp_path / "s.pdf")
    whole = next(page for page in pages if "Animals: bars" in page)
    for animal in ("neighbour's heifer 3", "own ewes 31 and 37", "own steer 14"):
        assert animal in whole.partition("Animals: bars")[2]
