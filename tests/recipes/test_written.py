"""A recipe worked out as written."""

from __future__ import annotations

from decimal import Decimal

import pytest

from soapstock.errors import BadInput
from soapstock.recipes.recipe import Addition, Recipe, parse_recipe
from soapstock.recipes.water import WaterKind, WaterRule
from soapstock.recipes.written import (
    addition_g,
    lye_by_rule,
    naoh_share_of,
    sv_in_use,
    water_by_rule,
    write_out,
)


def test_shares_are_worked_out_on_a_kilogram_of_fats(rule_text: str) -> None:
    """60 % is 600 g."""
    recipe = parse_recipe(rule_text, "r")
    written = write_out(recipe, sv_in_use(recipe, None))
    assert written.fats == {"beef-tallow": 600.0, "olive": 400.0}
    assert written.fat_g == 1000.0


@pytest.mark.parametrize(
    ("kind", "value", "water_g"),
    [("per_lye", 2.0, 280.0), ("solution_percent", 40.0, 210.0), ("per_100_fats", 30.0, 300.0)],
)
def test_water_rules_give_the_water_they_say(
    rule_text: str, kind: WaterKind, value: float, water_g: float
) -> None:
    """140 g of lye and 1 kg of fats."""
    parsed = parse_recipe(rule_text, "r")
    rule = WaterRule(kind=kind, value=value)
    recipe = Recipe(code="AB", name="x", fats=parsed.fats, water=rule)
    assert water_by_rule(recipe, 1000.0, 140.0) == pytest.approx(water_g)


def test_a_recipe_without_a_rule_has_no_lye_or_water(rule_text: str) -> None:
    """Built by hand without superfat or water rule: refused, not guessed."""
    parsed = parse_recipe(rule_text, "r")
    bare = Recipe(code="AB", name="x", fats=parsed.fats)
    with pytest.raises(BadInput, match="superfat"):
        lye_by_rule(bare, [])
    with pytest.raises(BadInput, match="water"):
        water_by_rule(bare, 1000.0, 140.0)


def test_an_addition_by_batch_counts_fats_lye_and_water() -> None:
    """1 % of 1420 g."""
    addition = Addition(ingredient="salt", basis="percent_of_batch", amount=Decimal(1))
    assert addition_g(addition, 1000.0, 1420.0) == pytest.approx(14.2)


def test_a_stated_share_is_by_moles(notebook_text: str) -> None:
    """226 g NaOH and 100 g KOH at their assays."""
    text = notebook_text.replace('naoh = "226 g"', 'naoh = "226 g"\nkoh = "100 g"')
    sodium, potassium = 226 * 0.98 / 39.9968, 100 * 0.90 / 56.1053
    share = naoh_share_of(parse_recipe(text, "m"))
    assert share == pytest.approx(sodium / (sodium + potassium), rel=0.02)
