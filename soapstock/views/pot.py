"""A pour while it is being weighed: the plan, what comes next, and how the pot stands so far."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

from soapstock.chemistry.cautions import lye_cautions
from soapstock.chemistry.fats import all_fats
from soapstock.desk.desk import Desk, one_snapshot
from soapstock.desk.finding import parsed_recipe
from soapstock.desk.ingredients import canonical
from soapstock.recipes.pour import judge_pour
from soapstock.recipes.weighing import (
    ALKALIS,
    WATER,
    Weighed,
    needed,
    plain_masses,
    planned_weighings,
)
from soapstock.units import mass_words
from soapstock.views.recipes import scale_recipe

if TYPE_CHECKING:
    from soapstock.ledger.facts import IngredientLot
    from soapstock.recipes.pour import PourJudgement
    from soapstock.recipes.recipe import Recipe
    from soapstock.recipes.scaling import ScaledBatch, Target


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One thing to weigh, g, and the lots of it that may be taken, the first to use first."""

    key: str
    planned_g: Decimal
    is_lye: bool
    lots: tuple[IngredientLot, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PotView:
    """A pour so far.

    Attributes:
        lines: what is to be weighed, in order: fats, water, lye, the rest.
        judgement: of what is weighed, all that is open going as planned.
        cautions: of the lye, with the peak its plan may reach.
    """

    recipe: Recipe
    plan: ScaledBatch
    lines: tuple[Line, ...]
    judgement: PourJudgement
    cautions: tuple[str, ...]


def pot(desk: Desk, code: str, target: Target, weighed: Mapping[str, Decimal]) -> PotView:
    """The plan of a pour, and how it stands when so much of it is weighed, g by ingredient.

    Raises:
        NotFound, BadInput: no such recipe, or no such target.
    """
    with desk.reading() as (here, reader):
        recipe, _, plan = scale_recipe(here, code, target)
        others = tuple(parsed_recipe(r.text, f"recipe {r.code}") for r in reader.recipes())
        lots = reader.ingredient_lots()
    masses = {w.ingredient: w.mass_g for w in planned_weighings(plan)}
    whole = masses | {key: mass for key, mass in weighed.items() if key in masses}
    judgement = judge_pour(
        recipe,
        plain_masses(recipe, [Weighed(ingredient=k, mass_g=m) for k, m in whole.items()]),
        plan,
        scale_step_g=desk.shop.scale_step_g,
        others=others,
        market=desk.shop.market,
    )
    return PotView(
        recipe=recipe,
        plan=plan,
        lines=tuple(_line(desk, key, masses[key], lots) for key in in_order(recipe, list(masses))),
        judgement=judgement,
        cautions=lye_cautions(plan.peak.peak_c if plan.peak else None),
    )


def in_order(recipe: Recipe, masses: Sequence[str]) -> list[str]:
    """Fats first, then water before lye: lye goes into water and never the other way."""
    names = [name for name in dict.fromkeys([*needed(recipe), *masses]) if name in masses]
    wet = [WATER] if WATER in names else []
    lye = [name for name in ALKALIS if name in names]
    fats = [name for name in names if name in all_fats()]
    rest = [name for name in names if name not in (*fats, *wet, *lye)]
    return [*fats, *wet, *lye, *rest]


def _line(desk: Desk, key: str, planned_g: Decimal, lots: list[IngredientLot]) -> Line:
    mine = tuple(usable_lots(desk, key, lots))
    return Line(key=key, planned_g=planned_g, is_lye=key in ALKALIS, lots=mine)


def usable_lots(desk: Desk, key: str, lots: Sequence[IngredientLot]) -> list[IngredientLot]:
    """Lots of an ingredient that may be taken, the first to use first."""
    mine = [
        lot
        for lot in lots
        if lot.ingredient == canonical(key)
        and lot.left_mg > 0
        and not lot.hold_reason
        and (lot.best_before is None or lot.best_before >= desk.today)
    ]
    return sorted(
        mine, key=lambda lot: (lot.best_before or date.max, lot.received_on, lot.lot_code)
    )


@one_snapshot
def store_lacks(desk: Desk, scaled: ScaledBatch) -> list[str]:
    """What the store lacks for a pour, a mass an ingredient; nothing while the store is empty."""
    with desk.ledger.read() as reader:
        store = reader.ingredient_lots()
    if not store:
        return []
    wanted = [(fat.ingredient, fat.mass_g) for fat in scaled.fats]
    wanted += [("naoh", scaled.naoh_g), ("koh", scaled.koh_g)]
    wanted += [(added.ingredient, added.mass_g or Decimal(0)) for added in scaled.additions]
    found = []
    for key, mass_g in wanted:
        there = sum((lot.left_g for lot in usable_lots(desk, key, store)), Decimal(0))
        if there < mass_g:
            found.append(f"{mass_words(mass_g - there)} of {key}")
    return found
