"""Lye dissolved ahead of time; its percent is NaOH by mass, as a bought lye states it."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from soapstock.chemistry import molar
from soapstock.errors import BadInput
from soapstock.recipes.pour import judge_pour
from soapstock.recipes.recipe import LyeSpec, Recipe, parse_recipe
from soapstock.recipes.scaling import Target, scale
from soapstock.recipes.solution import parse_ready_lye, ready_solution
from soapstock.recipes.weighed import ActualMasses, composition_of
from soapstock.recipes.written import portions_of, sv_in_use

TWO_KG = Target(total_fat_g=Decimal(2000))


@pytest.fixture
def recipe(rule_text: str) -> Recipe:
    """60 % tallow, 40 % olive, 5 % superfat, from bought 50 % lye."""
    text = rule_text.replace("naoh_assay_percent = 98", 'ready_lye = "50 % NaOH"')
    return parse_recipe(text, "ready")


def poured(recipe: Recipe, water_g: float) -> ActualMasses:
    """The plan of two kilograms as weighed, with this much water."""
    plan = scale(recipe, TWO_KG)
    fats = {line.ingredient: line.mass_g for line in plan.fats}
    return ActualMasses(
        fats=portions_of(fats, sv_in_use(recipe, None)),
        naoh_g=float(plan.naoh_g),
        koh_g=0.0,
        water_g=water_g,
    )


def test_half_strength_lye_splits_into_solution_and_water() -> None:
    """150 g NaOH in 300 g water: 300 g of 50 % solution and 150 g more water."""
    ready = ready_solution(naoh_g=150, water_g=300, percent=50)
    assert (ready.solution_g, ready.water_g) == (300, 150)


def test_too_weak_a_stock_is_refused() -> None:
    """A 25 % stock brings more water than a 2:1 recipe has."""
    with pytest.raises(BadInput, match="more water"):
        ready_solution(naoh_g=150, water_g=300, percent=25)


def test_forty_percent_stock_is_warned_of_crystals() -> None:
    """It drops crystals below about 15 C (Wang et al. 2008, digitised)."""
    assert ready_solution(naoh_g=150, water_g=300, percent=40).warnings
    assert not ready_solution(naoh_g=150, water_g=400, percent=30).warnings


def test_more_than_dissolves_is_refused() -> None:
    """52.2 % saturates at 20 C (Great Soviet Encyclopedia)."""
    with pytest.raises(BadInput):
        ready_solution(naoh_g=150, water_g=300, percent=53)


@pytest.mark.parametrize(
    ("text", "ends"),
    [
        ("50 % NaOH", (49.0, 50.0, 51.0)),
        ("30% naoh", (29.4, 30.0, 30.6)),
        ("49.5 to 50.5 % NaOH", (49.5, 50.0, 50.5)),
    ],
)
def test_the_strength_is_an_interval(text: str, ends: tuple[float, float, float]) -> None:
    """One figure holds 2 % of itself either way: 50 % lye is sold as 49 to 51 % (from memory)."""
    found = parse_ready_lye(text)
    assert (found.low, found.nominal, found.high) == pytest.approx(ends)


def test_bought_lye_is_never_shown_safer_than_it_is(recipe: Recipe) -> None:
    """The NaOH really in what the note says to weigh, against the fats' demand by hand.

    1200 x 196 + 800 x 190 mg KOH/g: 387.2 g KOH / 56.1053 = 6.9013 mol.
    """
    plan = scale(recipe, TWO_KG)
    ready = ready_solution(naoh_g=float(plan.naoh_g), water_g=float(plan.water_g), percent=50.0)
    true = 100 * (1 - ready.solution_g * 0.50 / molar.NAOH / (387.2 / 56.1053))
    assert true == pytest.approx(plan.superfat.nominal, abs=0.01)
    # strongest lye, every fat at its low end, and 1 g of each mass wrong: never below what is shown
    demand = ((1200 - 1) * 190 + (800 - 1) * 184) / 56105.3
    worst = 100 * (1 - (ready.solution_g + 1) * 0.51 / molar.NAOH / demand)
    assert plan.superfat.low <= worst + 1e-9


def test_diluting_ready_lye_heats_far_less_than_dissolving(recipe: Recipe, rule_text: str) -> None:
    """50 to 33.33 % from 20 C: (36.25 - 22.37) kJ/mol over 0.120 kg/mol x 3.575 kJ/kg K = 32.4 K.

    Heats and heat capacities computed after Olsson, Jernqvist and Aly 1997 (facts: naoh_lye_heat).
    """
    ready, dry = scale(recipe, TWO_KG).peak, scale(parse_recipe(rule_text, "r"), TWO_KG).peak
    assert ready is not None
    assert dry is not None
    assert ready.peak_c == pytest.approx(20 + 13.88 / (0.0399968 / 0.33333) / 3.575, abs=0.5)
    assert dry.peak_c == pytest.approx(104.5, abs=0.5)


def test_the_pot_holds_the_same_as_with_pure_dry_lye(recipe: Recipe) -> None:
    """Water in the ready lye is water; no rest of an assay stays, and mass is kept."""
    actual = poured(recipe, 524.0)
    made = composition_of(recipe, actual)
    assert made.inert_g == pytest.approx(0.0, abs=1e-9)
    assert made.total_g == pytest.approx(2000.0 + actual.naoh_g + 524.0)
    dry = LyeSpec(naoh_assay_percent=100.0, naoh_carbonate_percent=0.0)
    pure = replace(recipe, lye=dry)
    assert made.water_g == pytest.approx(composition_of(pure, actual).water_g)
    assert made.glycerol_g == pytest.approx(composition_of(pure, actual).glycerol_g)


def test_water_left_off_at_the_pour_is_asked_for(recipe: Recipe) -> None:
    """262 g of the water are inside the ready lye already."""
    judge_pour(recipe, poured(recipe, 524.0), None, scale_step_g=Decimal(1))
    with pytest.raises(BadInput, match="brings 262 g of water"):
        judge_pour(recipe, poured(recipe, 200.0), None, scale_step_g=Decimal(1))
