"""Lye dissolved ahead of time."""

from __future__ import annotations

import pytest

from soapstock.errors import BadInput
from soapstock.recipes.solution import ready_solution


def test_half_strength_lye_splits_into_solution_and_water() -> None:
    """134 g NaOH in 268 g water: 268 g of 50 % solution and 134 g more water."""
    ready = ready_solution(naoh_g=134, water_g=268, percent=50)
    assert (ready.solution_g, ready.water_g) == (268, 134)


def test_too_weak_a_stock_is_refused() -> None:
    """A 25 % stock brings more water than a 2:1 recipe has."""
    with pytest.raises(BadInput, match="more water"):
        ready_solution(naoh_g=134, water_g=268, percent=25)


def test_forty_percent_stock_is_warned_of_crystals() -> None:
    """It drops crystals below about 15 C (Wang et al. 2008, digitised)."""
    assert ready_solution(naoh_g=134, water_g=268, percent=40).warnings
    assert not ready_solution(naoh_g=134, water_g=400, percent=30).warnings


def test_more_than_dissolves_is_refused() -> None:
    """52.2 % saturates at 20 C (Great Soviet Encyclopedia)."""
    with pytest.raises(BadInput):
        ready_solution(naoh_g=134, water_g=268, percent=53)
