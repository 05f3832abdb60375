"""Fick's law in bars."""

from __future__ import annotations

import numpy as np
import pytest

from soapstock.cure.drying import (
    LN_DT_COUNT,
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


@pytest.mark.parametrize("shape", [BRICK, ROUND, CUP], ids=["brick", "cylinder", "cup"])
@pytest.mark.parametrize("faces", ["six", "five"])
def test_the_table_gives_what_the_formula_gives(shape: BarShape, faces: str) -> None:
    """Looking up D t agrees with the formula to 1e-4, and the slope with its slope."""
    dt = np.geomspace(2e-11, 0.05, 997)
    found, slope = look_up(curve_table(shape, faces), 0, place_of(np.log(dt)))  # type: ignore[arg-type]
    assert found == pytest.approx(remaining(shape, dt, faces), abs=1e-4)  # type: ignore[arg-type]
    ratio = 1.001
    ahead = remaining(shape, dt * ratio, faces)  # type: ignore[arg-type]
    back = remaining(shape, dt / ratio, faces)  # type: ignore[arg-type]
    assert slope == pytest.approx((ahead - back) / (2 * np.log(ratio)), abs=0.01)


def test_beyond_the_table_the_end_values_hold() -> None:
    """Before the first point next to nothing is lost, after the last all is."""
    far = place_of(np.array([LN_DT_FIRST - 50.0, LN_DT_FIRST + LN_DT_STEP * 1e5]))
    assert look_up(curve_table(BRICK), 0, far)[0] == pytest.approx([1.0, 0.0], abs=1e-3)


def test_the_smallest_and_the_largest_bar_have_a_table() -> None:
    """Bars of one millimetre and of two metres stay inside the unit tables."""
    for side in (1.0, 2000.0):
        shape = Brick(length_mm=side, width_mm=side, height_mm=side)
        curve = curve_table(shape, "five")
        assert curve.shape == (LN_DT_COUNT,)
        assert curve[0] <= 1.0


def place_of(ln_dt: np.ndarray) -> np.ndarray:
    """Grid place of ln(D t)."""
    return (ln_dt - LN_DT_FIRST) / LN_DT_STEP
