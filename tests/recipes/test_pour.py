"""Judging what was weighed."""

from __future__ import annotations

from decimal import Decimal

import pytest

from soapstock.chemistry.composition import Part
from soapstock.chemistry.fats import get_fat
from soapstock.chemistry.interval import Interval
from soapstock.chemistry.lye import FatPortion
from soapstock.errors import BadInput
from soapstock.recipes.pour import ActualMasses, composition_of, judge_pour
from soapstock.recipes.recipe import Recipe, RecipeFat, parse_recipe
from soapstock.recipes.scaling import ScaledBatch, Target, scale

STEP = Decimal(1)


@pytest.fixture
def recipe(rule_text: str) -> Recipe:
    """The recipe poured."""
    return parse_recipe(rule_text, "drf.toml")


@pytest.fixture
def plan(recipe: Recipe) -> ScaledBatch:
    """Two kilograms of fats: 1200 g tallow, 800 g olive, 268 g NaOH, 535 g water."""
    return scale(recipe, Target(total_fat_g=Decimal(2000)))


def weighed(plan: ScaledBatch, **changed: float) -> ActualMasses:
    """The plan's masses, with some changed."""
    masses = {line.ingredient: float(line.mass_g) for line in plan.fats}
    masses |= {"naoh": float(plan.naoh_g), "koh": 0.0, "water": float(plan.water_g)}
    masses |= {key.replace("_", "-"): value for key, value in changed.items()}
    fats = tuple(
        FatPortion(fat=key, mass_g=masses[key], sv=get_fat(key).sv)
        for key in ("beef-tallow", "olive")
    )
    return ActualMasses(
        fats=fats, naoh_g=masses["naoh"], koh_g=masses["koh"], water_g=masses["water"]
    )


def test_a_pour_as_planned_is_safe_and_has_no_slip(recipe: Recipe, plan: ScaledBatch) -> None:
    """Nothing to say."""
    found = judge_pour(recipe, weighed(plan), plan, scale_step_g=STEP)
    assert found.verdict.word == "safe"
    assert found.slip is None
    assert found.differences == ()


def test_a_small_difference_is_told_and_stays_safe(recipe: Recipe, plan: ScaledBatch) -> None:
    """Poured by hand: 20 g more olive."""
    found = judge_pour(recipe, weighed(plan, olive=820), plan, scale_step_g=STEP)
    assert found.verdict.word == "safe"
    assert found.differences == ("Olive oil: 820 g weighed, 800 g planned (+2.5 %)",)


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"naoh": 536}, "NaOH: weighed twice"),
        ({"naoh": 2680}, "decimal point slipped one place up"),
        ({"naoh": 286}, "two digits swapped"),
        ({"naoh": 535, "water": 268}, "swapped"),
        ({"olive": 28.2}, "ounces read as grams"),
        ({"olive": 0}, "Olive oil: left out"),
        ({"beef_tallow": 600}, "half left out"),
        ({"naoh": 0, "koh": 268}, "KOH was weighed instead of NaOH"),
    ],
)
def test_a_slip_of_one_weight_is_named(
    recipe: Recipe, plan: ScaledBatch, changed: dict[str, float], words: str
) -> None:
    """The likeliest slip stands in words."""
    found = judge_pour(recipe, weighed(plan, **changed), plan, scale_step_g=STEP)
    assert found.slip is not None
    assert words in found.slip


def test_too_little_fat_is_refused(recipe: Recipe, plan: ScaledBatch) -> None:
    """The olive oil was forgotten: lye-heavy."""
    found = judge_pour(recipe, weighed(plan, olive=0), plan, scale_step_g=STEP)
    assert found.verdict.word == "refuse"


def test_without_a_plan_the_recipe_itself_is_compared(recipe: Recipe, plan: ScaledBatch) -> None:
    """Scaled to the fat that was weighed."""
    found = judge_pour(recipe, weighed(plan, naoh=536), None, scale_step_g=STEP)
    assert found.verdict.word == "refuse"
    assert found.slip == "NaOH: weighed twice"


@pytest.mark.parametrize(
    ("changed", "says"),
    [({"olive": 0, "beef_tallow": 0}, "no fat"), ({"naoh": 0}, "no lye")],
)
def test_nothing_weighed_is_refused(
    recipe: Recipe, plan: ScaledBatch, changed: dict[str, float], says: str
) -> None:
    """No fat or no lye is no soap."""
    with pytest.raises(BadInput, match=says):
        judge_pour(recipe, weighed(plan, **changed), plan, scale_step_g=STEP)


def test_composition_holds_every_gram_weighed(recipe: Recipe, plan: ScaledBatch) -> None:
    """Additions too."""
    actual = weighed(plan)
    with_clay = ActualMasses(
        fats=actual.fats,
        naoh_g=actual.naoh_g,
        koh_g=0.0,
        water_g=actual.water_g,
        additions=(Part(key="kaolin", mass_g=20.0),),
    )
    total = 2000 + actual.naoh_g + actual.water_g + 20.0
    assert composition_of(recipe, with_clay).total_g == pytest.approx(total, rel=1e-12)


def test_milk_counts_as_water_and_solids(recipe: Recipe, plan: ScaledBatch) -> None:
    """200 g goat milk: 174 g water (food tables, memory), 7.8 g fat (FAO 2013), 18.2 g else."""
    actual = weighed(plan)
    with_milk = ActualMasses(
        fats=actual.fats,
        naoh_g=actual.naoh_g,
        koh_g=0.0,
        water_g=actual.water_g,
        additions=(Part(key="goat-milk", mass_g=200.0),),
    )
    made = composition_of(recipe, with_milk)
    assert made.additions[0].mass_g == pytest.approx(200.0 - 174.0 - 7.8)
    assert made.water_g == pytest.approx(actual.water_g + 174.0)


def test_the_lye_of_another_recipe_is_recognised(recipe: Recipe, plan: ScaledBatch) -> None:
    """Two sheets on the bench."""
    other = Recipe(
        code="EBB",
        name="Ebb",
        fats=(RecipeFat(fat="coconut", share_percent=100.0),),
        superfat_percent=20.0,
        lye=recipe.lye,
        water=recipe.water,
    )
    lye_g = float(scale(other, Target(total_fat_g=Decimal(2000))).naoh_g)
    found = judge_pour(
        recipe, weighed(plan, naoh=lye_g), plan, scale_step_g=STEP, others=[recipe, other]
    )
    assert found.verdict.word == "refuse"
    assert found.slip is not None
    assert "lye of EBB (Ebb)" in found.slip


def test_a_lot_with_a_low_certificate_is_no_slip_of_weighing(
    recipe: Recipe, plan: ScaledBatch
) -> None:
    """Planned by the table, weighed exactly: the lot's lower SV only asks to check."""
    low_lot = Interval(low=186.0, nominal=188.0, high=190.0)
    actual = weighed(plan)
    fats = tuple(
        FatPortion(fat=p.fat, mass_g=p.mass_g, sv=low_lot if p.fat == "beef-tallow" else p.sv)
        for p in actual.fats
    )
    mine = ActualMasses(fats=fats, naoh_g=actual.naoh_g, koh_g=0.0, water_g=actual.water_g)
    found = judge_pour(recipe, mine, plan, scale_step_g=STEP)
    assert found.slip is None
    assert found.verdict.word == "check"
