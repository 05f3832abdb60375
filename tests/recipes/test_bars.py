"""Bar shapes."""

from __future__ import annotations

import math

import pytest

from soapstock.errors import BadInput
from soapstock.recipes.bars import Brick, Cup, Cylinder


def test_a_brick_is_length_times_width_times_height() -> None:
    """90 x 60 x 25 mm hold 135 mL."""
    assert Brick(length_mm=90, width_mm=60, height_mm=25).volume_ml == pytest.approx(135.0)


def test_a_cup_with_equal_ends_is_a_cylinder() -> None:
    """The cone formula closes on the cylinder's."""
    cup = Cup(top_diameter_mm=70, bottom_diameter_mm=70, height_mm=30)
    assert cup.volume_ml == pytest.approx(Cylinder(diameter_mm=70, height_mm=30).volume_ml)


def test_a_cup_to_a_point_is_a_third_of_the_cylinder() -> None:
    """Euclid XII.10: a cone is a third of its cylinder."""
    cup = Cup(top_diameter_mm=60, bottom_diameter_mm=1e-9, height_mm=30)
    assert cup.volume_ml == pytest.approx(math.pi * 30**2 * 30 / 3 / 1000)


@pytest.mark.parametrize("size", [0.0, -1.0, 2001.0, float("nan")])
def test_impossible_sizes_are_refused(size: float) -> None:
    """Zero, negative and larger than two metres."""
    with pytest.raises(BadInput, match="length"):
        Brick(length_mm=size, width_mm=60, height_mm=25)


def test_shapes_describe_themselves() -> None:
    """In a maker's words."""
    assert Brick(length_mm=90, width_mm=60, height_mm=25).describe() == "brick 90 x 60 x 25 mm"
    assert "75 mm across" in Cylinder(diameter_mm=75, height_mm=30).describe()
    assert "bottom" in Cup(top_diameter_mm=70, bottom_diameter_mm=60, height_mm=40).describe()
