"""A recipe worked out as written."""

from __future__ import annotations

import pytest

from soapstock.recipes.recipe import Recipe, WaterRule, parse_recipe
from soapstock.recipes.written import sv_in_use, water_by_rule, write_out


def test_shares_are_worked_out_on_a_kilogram_of_fats(rule_text: str) -> None:
    """60 % is 600 g."""
    recipe = parse_recipe(rule_text, "r")
    written = write_out(recipe, sv_in_use(recipe, None))
    assert written.fats == {"tallow-beef": 600.0, "olive": 400.0}
    assert written.fat_g == 1000.0


@pytest.mark.parametrize(
    ("kind", "value", "water_g"),
    [("water_to_lye", 2.0, 280.0), ("lye_concentration_percent", 40.0, 210.0),
     ("percent_of_fats", 30.0, 300.0)],
)  # fmt: skip
def test_water_rules_give_the_water_they_say(
    rule_text: str, kind: str, value: float, water_g: float
) -> None:
    """140 g of lye and 1 kg of fats."""
    parsed = parse_recipe(rule_text, "r")
    rule = WaterRule(kind=kind, value=value)  # type: ignore[arg-type]
    recipe = Recipe(code="AB", name="x", fats=parsed.fats, water=rule)
    assert water_by_rule(recipe, 1000.0, 140.0) == pytest.approx(water_g)
