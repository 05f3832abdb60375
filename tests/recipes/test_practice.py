"""As scaled in practice."""

from __future__ import annotations

from decimal import Decimal

import pytest

from soapstock.errors import BadInput
from soapstock.recipes.practice import as_scaled
from soapstock.recipes.recipe import parse_recipe

STEP = Decimal(1)


def test_other_fats_poured_as_planned_change_nothing(rule_text: str) -> None:
    """Scaled by tallow alone."""
    found = as_scaled(
        parse_recipe(rule_text, "r"), ("tallow", Decimal(1200)), {}, scale_step_g=STEP
    )
    assert found.judgement.superfat.nominal == pytest.approx(5.0, abs=0.3)
    assert found.naoh_should_be_g == found.plan.naoh_g


def test_a_fat_poured_short_shows_the_superfat_it_really_gives(rule_text: str) -> None:
    """800 g olive planned, 700 g poured: 100 x 190 of 387200 less demand, so 5 % turns to 0.1 %."""
    found = as_scaled(
        parse_recipe(rule_text, "r"),
        ("tallow", Decimal(1200)),
        {"olive": Decimal(700)},
        scale_step_g=STEP,
    )
    demand = 1200 * 196 + 800 * 190
    expected = 100 - 95 * demand / (demand - 100 * 190)
    assert found.judgement.superfat.nominal == pytest.approx(expected, abs=0.3)
    assert found.naoh_should_be_g < found.plan.naoh_g


def test_a_fat_that_is_not_in_the_recipe_is_refused(rule_text: str) -> None:
    """Named with what there is."""
    with pytest.raises(BadInput, match="castor"):
        as_scaled(
            parse_recipe(rule_text, "r"),
            ("tallow", Decimal(1200)),
            {"castor": Decimal(100)},
            scale_step_g=STEP,
        )


def test_a_notebook_page_is_judged_against_its_fats(notebook_text: str) -> None:
    """The lye the fats as poured ask for stands beside."""
    found = as_scaled(
        parse_recipe(notebook_text, "m"),
        ("tallow", Decimal(900)),
        {"coconut": Decimal(300)},
        scale_step_g=STEP,
    )
    assert found.judgement.verdict.word == "refuse"
    assert found.naoh_should_be_g < found.plan.naoh_g


@pytest.mark.parametrize("olive_g", range(640, 801, 10))
def test_no_verdict_contradicts_itself(rule_text: str, olive_g: int) -> None:
    """Never both "lye could be left over" and "no lye is left over"; nor a low end below zero."""
    found = as_scaled(
        parse_recipe(rule_text, "r"),
        ("tallow", Decimal(1200)),
        {"olive": Decimal(olive_g)},
        scale_step_g=STEP,
    )
    judged = found.judgement
    said = " ".join(judged.verdict.reasons)
    assert not ("could be left over" in said and "no lye is left over" in said)
    if "no lye is left over" in said:
        assert judged.superfat.low >= 0.0
        assert judged.study is not None
        assert judged.superfat == judged.study.bounds


def test_a_page_without_its_other_fat_asks_for_it(notebook_text: str) -> None:
    """The coconut left out: the lye says how much fat it takes besides."""
    text = notebook_text.replace('[[fats]]\nfat = "coconut"\nmass = "600 g"\n', "")
    found = as_scaled(parse_recipe(text, "m"), ("tallow", Decimal(900)), {}, scale_step_g=STEP)
    assert found.judgement.verdict.word == "refuse"
    asked = [r for r in found.judgement.verdict.reasons if "is a fat missing here?" in r]
    assert len(asked) == 1
