"""The families of drying curves."""

from __future__ import annotations

import numpy as np
import pytest

from soapstock.cure.curves import (
    SKINS,
    add_slow_rest,
    even_bend,
    family_chances,
    ln_late_rate,
    skin_and_core,
)
from soapstock.cure.drying import Faces, remaining
from soapstock.recipes.bars import BarShape, Brick, Cup, Cylinder

BRICK = Brick(length_mm=90, width_mm=60, height_mm=25)


@pytest.mark.parametrize(
    ("shape", "faces"),
    [
        (BRICK, "six"),
        (BRICK, "five"),
        (Cylinder(diameter_mm=70, height_mm=30), "six"),
        (Cup(top_diameter_mm=70, bottom_diameter_mm=60, height_mm=35), "five"),
    ],
)
def test_late_in_drying_fick_falls_at_the_late_rate(shape: BarShape, faces: Faces) -> None:
    """From D t = 9e-4 to 1e-3 m2 the logarithm of R falls by L times the difference."""
    early, late = remaining(shape, np.array([9e-4, 1e-3]), faces)
    expected = np.exp(ln_late_rate(shape, faces)) * 1e-4
    assert np.log(early / late) == pytest.approx(expected, rel=1e-3)


def test_skin_and_core_run_from_all_the_water_to_none() -> None:
    """R is 1 at the start, 0 at the end, and falls all the way; the bend is nil at both ends."""
    late = np.geomspace(1e-9, 60.0, 200)
    for skin in SKINS:
        share, bend = skin_and_core(late, skin.ratio, skin.share, skin.share_sd)
        assert share[[0, -1]] == pytest.approx([1.0, 0.0], abs=1e-6)
        assert bend[[0, -1]] == pytest.approx([0.0, 0.0], abs=1e-6)
        assert (np.diff(share) < 0).all()


def test_two_sds_of_bend_leave_a_curve_that_falls() -> None:
    """The fast share stays between nothing and all."""
    late = np.geomspace(1e-6, 30.0, 300)
    for skin in SKINS:
        share, bend = skin_and_core(late, skin.ratio, skin.share, skin.share_sd)
        for e in (-2.0, 2.0):
            assert (np.diff(share + e * bend) < 0).all()


def test_an_even_bar_bends_about_day_14() -> None:
    """Nothing changes on that day; before and after the change has opposite signs."""
    early, middle, late = even_bend(np.array([7.0, 14.0, 28.0]))
    assert middle == pytest.approx(0.0)
    assert early == pytest.approx(-late)


def test_the_chances_of_the_families_add_to_one() -> None:
    """Skin and core shares its chance between its two ratios."""
    assert family_chances(0.4) == pytest.approx([0.6, 0.2, 0.2])


def test_the_slow_rest_leaves_late_and_wholly() -> None:
    """R still runs from 1 to 0 and falls; more of the rest raises it all along, and most late."""
    late = np.geomspace(1e-9, 400.0, 300)
    share, bend = np.exp(-late), np.zeros_like(late)
    plain = share.copy()
    change = add_slow_rest(share, bend, late)
    assert share[[0, -1]] == pytest.approx([1.0, 0.0], abs=1e-6)
    assert (np.diff(share) < 0).all()
    assert (change >= 0).all()
    assert (share >= plain).all()
