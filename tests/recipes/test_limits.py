"""Limits on additions.

Source: Regulation (EC) No 1223/2009 Annex III entry 324: methyl salicylate at most 0.06 % in
rinse-off skin products other than hand wash; wintergreen oil holds 96-99 % of it.
"""

from __future__ import annotations

from decimal import Decimal

import pytest

from soapstock.recipes.limits import over_limits, purity_notes
from soapstock.recipes.recipe import parse_recipe
from soapstock.recipes.scaling import Target, scale


@pytest.mark.parametrize(("mass_g", "passes"), [(0.606, False), (0.607, True)])
def test_wintergreen_oil_is_capped_at_0_0606_percent(
    rule_text: str, mass_g: float, passes: bool
) -> None:
    """0.06 / 0.99 = 0.0606 % of the oil: 0.606 g in a kilogram of dry soap."""
    recipe = parse_recipe(rule_text, "r")
    assert bool(over_limits(recipe, {"wintergreen-oil": mass_g}, 1000.0, "eu")) is passes


def test_an_over_limit_recipe_is_refused_with_the_citation(rule_text: str) -> None:
    """A pleasant 2 % of wintergreen oil."""
    text = rule_text.replace(
        "[bar]", '[[additions]]\ningredient = "wintergreen-oil"\npercent_of_fats = 2\n\n[bar]'
    )
    batch = scale(parse_recipe(text, "r"), Target(total_fat_g=Decimal(2000)), market="eu")
    assert batch.verdict.word == "refuse"
    assert "Annex III entry 324" in batch.verdict.reasons[0]


def test_another_market_warns_and_checks(rule_text: str) -> None:
    """The limit is no law there, yet the skin is the same."""
    text = rule_text.replace(
        "[bar]", '[[additions]]\ningredient = "wintergreen-oil"\npercent_of_fats = 2\n\n[bar]'
    )
    batch = scale(parse_recipe(text, "r"), Target(total_fat_g=Decimal(2000)), market="us-soap")
    assert batch.verdict.word == "check"
    assert "not the law of this market" in batch.verdict.reasons[-1]


def test_the_suppliers_own_limit_refuses(rule_text: str) -> None:
    """A certificate's 1.5 % for soap, passed by 3 % of fats."""
    text = rule_text.replace(
        "[bar]",
        '[[additions]]\ningredient = "lavender-oil"\npercent_of_fats = 3\n'
        'limit_percent = 1.5\nlimit_source = "supplier paper of 2026-05"\n\n[bar]',
    )
    batch = scale(parse_recipe(text, "r"), Target(total_fat_g=Decimal(2000)), market="eu")
    assert batch.verdict.word == "refuse"
    assert "supplier paper of 2026-05" in batch.verdict.reasons[0]


def test_oils_with_a_peroxide_limit_ask_for_the_certificate() -> None:
    """Annex III entry 88: limonene's peroxide value under 20 mmol/L."""
    assert "entry 88" in purity_notes(["lemon-oil"], "eu")[0]
    assert purity_notes(["lemon-oil"], "us-soap") == ()
    assert purity_notes(["kaolin"], "eu") == ()
