"""As scaled in practice: the lye follows one fat, the other fats are poured by hand."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from soapstock.chemistry.composition import Part
from soapstock.chemistry.interval import Interval
from soapstock.errors import BadInput
from soapstock.recipes.notes import intended_superfat
from soapstock.recipes.pour import ActualMasses, PourJudgement, judge_pour
from soapstock.recipes.recipe import Recipe
from soapstock.recipes.scaling import ScaledBatch, Target, scale
from soapstock.recipes.written import lye_needed, naoh_share_of, portions_of, sv_in_use
from soapstock.units import round_to_step


@dataclass(frozen=True, slots=True, kw_only=True)
class Practice:
    """What scaling by one fat really gives.

    Attributes:
        plan: the batch scaled by that fat.
        fats_g: the fats as poured.
        judgement: superfat and verdict of the plan's lye on those fats.
        naoh_should_be_g, koh_should_be_g: lye that the fats as poured ask for the superfat meant.
    """

    plan: ScaledBatch
    fats_g: Mapping[str, Decimal]
    judgement: PourJudgement
    naoh_should_be_g: Decimal
    koh_should_be_g: Decimal


def as_scaled(
    recipe: Recipe,
    by: tuple[str, Decimal],
    poured: Mapping[str, Decimal],
    *,
    scale_step_g: Decimal,
    sv: Mapping[str, Interval] | None = None,
) -> Practice:
    """Scale the lye by one fat and judge it on the fats as poured.

    Args:
        recipe: the recipe.
        by: the fat the lye was scaled by, and its mass, g.
        poured: the other fats as poured, g; a fat not named went in as the plan says.
        scale_step_g: the scale's step, g.
        sv: saponification values to use instead of the table's, by fat key.

    Raises:
        BadInput: a poured fat that the recipe does not have.
    """
    plan = scale(recipe, Target(have=by), scale_step_g=scale_step_g, sv=sv)
    fats = {line.ingredient: line.mass_g for line in plan.fats}
    for key, mass in poured.items():
        if key not in fats:
            raise BadInput(
                f"'{key}' is no fat of recipe {recipe.code}", hint=f"one of: {', '.join(fats)}"
            )
        fats[key] = mass
    values = sv_in_use(recipe, sv)
    actual = ActualMasses(
        fats=portions_of(fats, values),
        naoh_g=float(plan.naoh_g),
        koh_g=float(plan.koh_g),
        water_g=float(plan.water_g),
        additions=tuple(Part(key=key, mass_g=mass_g) for key, mass_g in plan.added_g.items()),
    )
    naoh, koh = lye_needed(recipe, actual.takers, intended_superfat(recipe), naoh_share_of(recipe))
    return Practice(
        plan=plan,
        fats_g=fats,
        judgement=judge_pour(recipe, actual, plan, scale_step_g=scale_step_g),
        naoh_should_be_g=round_to_step(naoh, scale_step_g),
        koh_should_be_g=round_to_step(koh, scale_step_g),
    )
