"""Fick's law in bars."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from soapstock.cure.drying import (
    LN_DT_FIRST,
    LN_DT_STEP,
    as_cylinder,
    curve_table,
    disc_remaining,
    look_up,
    remaining,
    slab_lengths_m,
    slab_remaining,
)
from soapstock.recipes.bars import BarShape, Brick, Cup, Cylinder

BRICK = Brick(length_mm=90, width_mm=60, height_mm=25)
ROUND = Cylinder(diameter_mm=70, height_mm=30)
CUP = Cup(top_diameter_mm=75, bottom_diameter_mm=60, height_mm=30)
HOUR_TO_TWO_YEARS = 3.5e-11 * np.geomspace(3600.0, 730 * 86400.0, 400)


@pytest.mark.parametrize("shape", [BRICK, ROUND, CUP], ids=["brick", "cylinder", "cup"])
@pytest.mark.parametrize("faces", ["six", "five"])
def test_the_remaining_share_falls_from_one_to_nothing(shape: BarShape, faces: str) -> None:
    """From the first hour to two years R falls without a jump or a rise, within 0 and 1."""
    curve = remaining(shape, HOUR_TO_TWO_YEARS, faces)  # type: ignore[arg-type]
    assert curve.max() <= 1.0
    assert curve.min() >= 0.0
    assert np.diff(curve).max() <= 1e-12
    assert abs(np.diff(curve)).max() < 0.05


@pytest.mark.parametrize("part", [slab_remaining, disc_remaining])
def test_short_and_long_forms_meet(part: object) -> None:
    """Across the switch between the short-time law and the series there is no step."""
    t = np.linspace(0.001, 0.1, 5000)
    assert abs(np.diff(part(t), 2)).max() < 3e-4  # type: ignore[operator]


def test_a_board_slows_a_brick() -> None:
    """A bar with its underside sealed keeps more water than one with all faces open."""
    assert (
        remaining(BRICK, HOUR_TO_TWO_YEARS, "five") >= remaining(BRICK, HOUR_TO_TWO_YEARS)
    ).all()
    assert slab_lengths_m(BRICK, "five")[0] == pytest.approx(2 * slab_lengths_m(BRICK)[0])


def test_a_cup_with_straight_walls_is_the_cylinder() -> None:
    """Equal diameters give that cylinder; unequal ones keep height and volume."""
    straight = Cup(top_diameter_mm=70, bottom_diameter_mm=70, height_mm=30)
    assert as_cylinder(straight).diameter_mm == pytest.approx(70.0)
    assert as_cylinder(CUP).volume_ml == pytest.approx(CUP.volume_ml)


@given(st.floats(1e-11, 1e-4))
def test_the_table_gives_what_the_formula_gives(dt_m2: float) -> None:
    """Looking up ln(D t) agrees with the formula to 1e-4."""
    curve, _ = curve_table(BRICK)
    found = look_up(curve[None], np.zeros(1, dtype=np.intp), np.log(np.array([dt_m2])))
    assert found[0] == pytest.approx(float(remaining(BRICK, np.array(dt_m2))), abs=1e-4)


def test_beyond_the_table_the_end_values_hold() -> None:
    """Before the first point nothing is lost, after the last all is."""
    curve, _ = curve_table(BRICK)
    far = np.array([LN_DT_FIRST - 50.0, LN_DT_FIRST + LN_DT_STEP * 1e5])
    ends = look_up(curve[None], np.zeros(2, dtype=np.intp), far)
    assert ends == pytest.approx([1.0, 0.0], abs=1e-4)
