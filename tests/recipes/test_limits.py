"""Limits on additions.

Source: Regulation (EC) No 1223/2009 Annex III entry 324: methyl salicylate at most 0.06 % in
rinse-off skin products other than hand wash; wintergreen oil holds 96-99 % of it.
"""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from soapstock.recipes.limits import legal_limits, over_limits, purity_notes
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


@pytest.mark.parametrize(
    ("market", "binding", "cited"),
    [
        ("eu", True, "Annex III entry 324"),
        ("uk", True, "S.I. 2025/413"),
        ("ca", False, "not the law of this market"),
        ("us-soap", False, "not the law of this market"),
    ],
)
def test_the_pot_and_the_label_are_bound_by_one_table(
    rule_text: str, market: str, binding: bool, cited: str
) -> None:
    """What binds the pour in a market refuses the label there, by the same citation."""
    (over,) = over_limits(parse_recipe(rule_text, "r"), {"wintergreen-oil": 1.0}, 1000.0, market)
    assert over.binding is binding
    assert cited in over.sentence()
    day = date(2026, 11, 25)
    assert bool(legal_limits(market, day)) is binding
    if market == "uk":
        assert "children under 6" not in over.scope  # that is the EU's alone


@pytest.mark.parametrize(
    ("market", "key", "said"),
    [
        ("eu", "peanut", "0.5 ppm of peanut protein"),  # Annex III 306, (EU) 2017/2228, from memory
        ("uk", "lemon-oil", "entry 88"),  # retained Annex III; it was the EU's alone before
        ("uk", "tea-tree-oil", "131 and 133"),
        ("ca", "peppermint-oil", "Hotlist"),
        ("ca", "eucalyptus-oil", "not asked of solid bars"),  # Hotlist changes of August 2022
    ],
)
def test_what_to_ask_of_a_material_by_market(market: str, key: str, said: str) -> None:
    """By the fat or the addition, and nothing of it where no law asks."""
    assert any(said in note for note in purity_notes([key], market))
    assert purity_notes([key], "us-soap") == ()
