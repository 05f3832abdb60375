"""Slips of the hand that are asked about or said, and words makers use."""

from __future__ import annotations

from datetime import date

import pytest

from soapstock.desk.desk import Desk
from soapstock.enter.batch import test as enter_test
from soapstock.enter.move import ship
from soapstock.enter.orders import add
from soapstock.enter.receive import receive
from soapstock.errors import BadInput, RuleBroken


def test_the_same_delivery_twice_is_asked_about(desk: Desk) -> None:
    """Supplier, mass and day are the same: entered twice, or two sacks."""
    first = receive(desk, "olive", "5kg", supplier="Quay Oils", supplier_lot="77A")
    assert first.lot_code is not None
    with pytest.raises(RuleBroken, match=first.lot_code.shown) as caught:
        receive(desk, "olive", "5kg", supplier="Quay Oils", supplier_lot="77A")
    assert caught.value.mend is not None
    assert caught.value.mend.key == "confirm"
    assert receive(desk, "olive", "5kg", supplier="Quay Oils", sure=True)
    assert receive(desk, "olive", "5kg", supplier="Somebody else")
    assert receive(desk, "olive", "4kg", supplier="Quay Oils")


def test_a_delivery_of_last_year_is_said(desk: Desk) -> None:
    """A year mistyped in January."""
    assert "year" in receive(desk, "olive", "5kg", supplier="Q", on=date(2025, 11, 18)).notes[-1]
    assert not receive(desk, "olive", "5kg", supplier="Q", on=date(2026, 11, 18)).notes


def test_an_order_wanted_in_the_past_is_said(desk: Desk) -> None:
    """It is taken, since it may be late already."""
    assert "past" in add(desk, "P-1", "A", ["DRF=1"], wanted_on=date(2026, 1, 1)).notes[0]
    assert not add(desk, "P-2", "A", ["DRF=1"], wanted_on=desk.today).notes


def test_a_zap_test_is_a_tongue_test(desk: Desk) -> None:
    """Makers say zap (common practice, no source)."""
    assert "tongue" in enter_test(desk, "SAM-26279", "zap", passed=True).said


def test_a_lot_in_several_places_names_them_all(desk: Desk) -> None:
    """With one named, nobody knows that there was a choice."""
    for place in ("shelf-2", "shelf-3"):
        with desk.ledger.write() as writer:
            writer.add_place(desk.stamp(), place, "shelf")
            writer.move(desk.stamp(), "EEL26255A6", 5, "bars", "rack", place)
    with pytest.raises(BadInput) as caught:
        ship(desk, "EEL-26255-A6", 2, customer="A")
    assert "5 on shelf-2" in caught.value.hint
    assert "5 on shelf-3" in caught.value.hint


def test_honey_of_ones_own_was_not_rendered(desk: Desk) -> None:
    """Fat is rendered; honey and milk come from the animal as they are."""
    entered = receive(desk, "honey", "1kg", animal="hive 2")
    with desk.ledger.read() as reader:
        assert reader.ingredient_lot(entered.lot_code).supplier == "own animal"
