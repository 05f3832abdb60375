"""The desk: stamps, lots and recipes found by what people type."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from soapstock.desk.desk import Desk
from soapstock.desk.finding import find_recipe, read_lot
from soapstock.errors import BadInput, NotFound


def test_a_stamp_says_when_and_by_whom(desk: Desk) -> None:
    """When it happened, when it was entered, by whom."""
    stamp = desk.stamp(date(2026, 11, 1), "late entry")
    assert (stamp.happened_on, stamp.entered_at, stamp.by) == (
        date(2026, 11, 1),
        desk.now,
        "tester",
    )
    assert stamp.note == "late entry"


def test_the_future_is_refused(desk: Desk) -> None:
    """Nothing has happened tomorrow."""
    with pytest.raises(BadInput, match="future"):
        desk.stamp(date(2026, 11, 21))


def test_an_entry_needs_a_person(desk: Desk) -> None:
    """A blank name is nobody."""
    with pytest.raises(BadInput, match="nobody"):
        replace(desk, by="  ").stamp()


def test_an_unknown_lot_offers_near_ones(desk: Desk) -> None:
    """A well-formed code that is not here offers the likeliest."""
    from soapstock.codes.lot import make_lot_code

    other = make_lot_code("DRF", date(2026, 8, 28), "A")
    with pytest.raises(NotFound) as told:
        read_lot(desk, other)
    assert "DRF-26241-AZ" in told.value.hint


def test_a_recipe_is_found_in_any_case(desk: Desk) -> None:
    """Codes are read without regard to case or spaces."""
    with desk.ledger.read() as reader:
        recipe, version = find_recipe(reader, " drf ")
    assert (recipe.code, version) == ("DRF", 1)


def test_an_unknown_recipe_lists_those_here(desk: Desk) -> None:
    """The hint names the codes of the shop."""
    with desk.ledger.read() as reader, pytest.raises(NotFound) as told:
        find_recipe(reader, "XYZ")
    assert "DRF" in told.value.hint
