"""An order's list says all that was ordered."""

from __future__ import annotations

from soapstock.desk.desk import Desk
from soapstock.enter.orders import add
from soapstock.views.orders import listed


def test_lines_of_one_recipe_are_added_up(desk: Desk) -> None:
    """Two lines of three and two bars are five bars to pack."""
    add(desk, "TWICE", "A. Customer", ["EBB=2", "EBB=3"])
    row = next(r for r in listed(desk, everything=False) if r["order"] == "TWICE")
    assert row["lines"] == {"EBB": 5}
    assert row["bars"] == 5
