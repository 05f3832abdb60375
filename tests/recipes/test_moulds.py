"""Batter density."""

from __future__ import annotations

import pytest

from soapstock.errors import BadInput
from soapstock.recipes.bars import Brick, Cylinder
from soapstock.recipes.moulds import batter_density_g_ml, fit_mould


def test_density_lies_between_fat_and_lye_solution() -> None:
    """Volumes add up: near that of water."""
    assert 0.95 < batter_density_g_ml(fat_g=1000, alkali_g=140, water_g=280) < 1.05


def test_more_lye_solution_is_denser() -> None:
    """The solution is denser than the fat."""
    little = batter_density_g_ml(fat_g=1000, alkali_g=100, water_g=200)
    much = batter_density_g_ml(fat_g=1000, alkali_g=150, water_g=300)
    assert much > little


def test_no_fat_is_refused() -> None:
    """A batter is mostly fat."""
    with pytest.raises(BadInput):
        batter_density_g_ml(fat_g=0, alkali_g=100, water_g=200)


def test_a_loaf_mould_holds_its_bars() -> None:
    """300 x 90 x 60 mm: twelve bars of 90 x 60 x 25 mm."""
    loaf = Brick(length_mm=300, width_mm=90, height_mm=60)
    bar = Brick(length_mm=90, width_mm=60, height_mm=25)
    fit = fit_mould(loaf, count=2, density_g_ml=1.0, bar=bar)
    assert fit.bars == 24
    assert fit.batter_g == pytest.approx(3240.0)
    assert fit.wet_bar_g == pytest.approx(135.0)


def test_a_bar_larger_than_the_mould_is_refused() -> None:
    """Mistaken sizes."""
    small, large = Cylinder(diameter_mm=30, height_mm=20), Cylinder(diameter_mm=60, height_mm=20)
    with pytest.raises(BadInput, match="larger than the mould"):
        fit_mould(small, count=1, density_g_ml=1.0, bar=large)
    with pytest.raises(BadInput):
        fit_mould(small, count=0, density_g_ml=1.0, bar=None)


def test_without_a_bar_shape_only_the_batter_is_known() -> None:
    """No count is made up."""
    fit = fit_mould(Cylinder(diameter_mm=60, height_mm=20), count=1, density_g_ml=1.0, bar=None)
    assert fit.bars is None
