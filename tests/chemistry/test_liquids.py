"""Liquids in place of water."""

from __future__ import annotations

import pytest

from soapstock.chemistry.liquids import liquids


@pytest.mark.parametrize("key", sorted(liquids()))
def test_shares_of_a_liquid_stay_within_the_whole(key: str) -> None:
    """Water, fat and sugar do not pass 100 %."""
    one = liquids()[key]
    assert 0 < one.water_percent + one.fat_percent.nominal + one.sugar_percent <= 100.5


def test_milk_sugar_brings_the_carbon_monoxide_caution() -> None:
    """Reducing sugars and caustic give carbon monoxide (Dow caustic soda page)."""
    assert any("carbon monoxide" in line for line in liquids()["goat-milk"].cautions)
    assert liquids()["tea"].cautions == ()


def test_water_of_a_liquid_is_its_share() -> None:
    """87 % of goat milk."""
    assert liquids()["goat-milk"].water_g(200.0) == pytest.approx(174.0)
