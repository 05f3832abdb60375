"""Filling cups for a weight, in the demo shop."""

from __future__ import annotations

import pytest

from soapstock.desk.desk import Desk
from soapstock.errors import BadInput, RuleBroken
from soapstock.views.fill import fill, line_for, sentence
from tests.desks import desk

__all__ = ["desk"]


def test_both_ways_agree(desk: Desk) -> None:
    """The fill for a weight may be declared as that weight, and a gram less of it may not."""
    asked = fill(desk, "DRF", declared_g=113.0)
    assert fill(desk, "DRF", cup_g=asked.fill_g + 0.5).declared_g >= 113.0
    assert fill(desk, "DRF", cup_g=asked.fill_g - 2.0).declared_g < 113.0


def test_the_pot_is_shared_out(desk: Desk) -> None:
    """All of the pot is in the cups, and none holds less than it must."""
    found = fill(desk, "DRF", pot_g=3000.0)
    assert found.cups is not None
    assert found.cups.count * found.cups.each_g == pytest.approx(3000.0)
    assert found.cups.each_g >= found.fill_g


def test_less_water_needs_less_fill(desk: Desk) -> None:
    """A bar with less water to lose is filled less for the same weight."""
    plain = fill(desk, "DRF", declared_g=113.0)
    less = fill(desk, "DRF", declared_g=113.0, water="1.3 per lye")
    assert less.fill_g < plain.fill_g
    assert less.coming.dry_days[1] < plain.coming.dry_days[1]


def test_it_learns_from_this_person_alone(desk: Desk) -> None:
    """The tester unmoulded nothing, so a guess stands; the demo's maker did."""
    from dataclasses import replace

    assert fill(desk, "DRF").evenness.batches == 0
    assert fill(replace(desk, by="demo maker"), "DRF").evenness.batches > 5


def test_what_is_not_known_is_asked_for(desk: Desk) -> None:
    """Both weights at once, and other water for a recipe that states a mass, are refused."""
    with pytest.raises(BadInput, match="either"):
        fill(desk, "DRF", declared_g=100.0, cup_g=130.0)
    with pytest.raises(RuleBroken, match="as a mass"):
        fill(desk, "MUD", water="2 per lye")


def test_the_line_beside_a_recipe(desk: Desk) -> None:
    """It stands where a weight is declared, with the cups of the pot."""
    assert line_for(desk, "DRF", 3000.0) == sentence(fill(desk, "DRF", pot_g=3000.0))
