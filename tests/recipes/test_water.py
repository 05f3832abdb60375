"""How much water, in one line of words."""

from __future__ import annotations

import pytest

from soapstock.errors import BadInput
from soapstock.recipes.water import WATER_HINT, WaterRule, parse_water


@pytest.mark.parametrize(
    ("text", "rule"),
    [
        ("2 per lye", WaterRule(kind="per_lye", value=2.0)),
        ("1.8  per Lye", WaterRule(kind="per_lye", value=1.8)),
        ("33 % solution", WaterRule(kind="solution_percent", value=33.0)),
        ("33% solution", WaterRule(kind="solution_percent", value=33.0)),
        ("28 per 100 fats", WaterRule(kind="per_100_fats", value=28.0)),
    ],
)
def test_the_three_ways_are_read(text: str, rule: WaterRule) -> None:
    """Ratio to the lye, share of the solution, share of the fats."""
    assert parse_water(text) == rule


@pytest.mark.parametrize(
    "text",
    ["", "2", "2 per fat", "33 %", "33 per solution", "-2 per lye", "2,5 per lye", "²per lye"],
)
def test_anything_else_is_refused_with_the_three(text: str) -> None:
    """Nothing is guessed: a wrong water is a wrong lye strength."""
    with pytest.raises(BadInput, match="no amount of water") as caught:
        parse_water(text)
    assert caught.value.hint == WATER_HINT


@pytest.mark.parametrize("text", ["0.4 per lye", "11 per lye", "67 % solution", "4 per 100 fats"])
def test_figures_no_recipe_has_are_refused(text: str) -> None:
    """Too little to dissolve the lye, or a slip."""
    with pytest.raises(BadInput, match="is not between"):
        parse_water(text)


def test_the_examples_of_the_hint_are_read() -> None:
    """What an error offers must work."""
    for example in WATER_HINT.split('"')[1::2]:
        assert parse_water(example).value > 0.0
