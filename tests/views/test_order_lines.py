"""An order's list says all that was ordered."""

from __future__ import annotations

from pathlib import Path

from pypdfium2 import PdfDocument

from soapstock.desk.desk import Desk
from soapstock.enter.orders import add
from soapstock.papers.packing import packed, write_packing_slips, write_pick_list
from soapstock.views.orders import listed


def test_lines_of_one_recipe_are_added_up(desk: Desk) -> None:
    """Two lines of three and two bars are five bars to pack."""
    add(desk, "TWICE", "A. Customer", ["EBB=2", "EBB=3"])
    row = next(r for r in listed(desk, everything=False) if r.order == "TWICE")
    assert row.lines == {"EBB": 5}
    assert row.bars == 5


def test_an_orders_note_is_in_its_record_and_on_its_papers(desk: Desk, tmp_path: Path) -> None:
    """A note that nobody reads is lost."""
    add(desk, "GIFT", "A. Customer", ["EBB=2"], note="wrap it as a gift")
    row = next(r for r in listed(desk, everything=False) if r.order == "GIFT")
    assert row.note == "wrap it as a gift"
    for write in (write_pick_list, write_packing_slips):
        path = tmp_path / f"{write.__name__}.pdf"
        write(desk, packed(desk, ["GIFT"]), path)
        assert "wrap it as a gift" in PdfDocument(path)[0].get_textpage().get_text_range()
