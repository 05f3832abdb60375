"""Batter density."""

from __future__ import annotations

import pytest

from soapstock.errors import BadInput
from soapstock.recipes.moulds import batter_density_g_ml


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
