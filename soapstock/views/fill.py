"""How much to pour into each cup to sell at a weight, and what may be declared for a fill."""

from __future__ import annotations

import math
from dataclasses import dataclass

from soapstock.chemistry.interval import Interval
from soapstock.desk.desk import Desk, one_snapshot
from soapstock.desk.finding import find_recipe
from soapstock.errors import BadInput
from soapstock.planning.fill import (
    Cups,
    Evenness,
    cups_from,
    declare_for,
    fill_for,
)
from soapstock.views.coming import DAYS_A_MONTH, Coming, coming_bar, evenness, with_water
from soapstock.views.teachers import shop_teachers


@dataclass(frozen=True, slots=True, kw_only=True)
class Fill:
    """What to fill, or what to declare.

    Attributes:
        declared_g: weight on the label; fill_g: batter into each cup. One was asked, one found.
        left: share of the fill that is left at the best-before date (5, 50 and 95 %).
        end_g: what a bar of that fill weighs then, g.
        cups: cups from the pot, when one was named.
        asked: `fill` when the fill was asked for, `declare` when the weight was.
    """

    coming: Coming
    evenness: Evenness
    declared_g: float
    fill_g: float
    left: Interval
    end_g: Interval
    cups: Cups | None
    asked: str


@one_snapshot
def fill(
    desk: Desk,
    code: str,
    *,
    declared_g: float | None = None,
    cup_g: float | None = None,
    pot_g: float | None = None,
    water: str | None = None,
    version: int | None = None,
) -> Fill:
    """How much to pour into each cup for a declared weight, or what to declare for cups of a size.

    Args:
        declared_g: the weight to sell at; the recipe's own when nothing is given.
        cup_g: what a cup holds, g of batter: then the weight to declare is asked for.
        pot_g: batter of the pot, g.
        water: other water than the recipe's, in its words.

    Raises:
        BadInput: both or neither weight is known; a pot that fills no cup.
    """
    with desk.ledger.read() as reader:
        recipe, _ = find_recipe(reader, code, version)
        batches = reader.batches()
    recipe = with_water(recipe, water)
    even = evenness(batches, desk.by)
    mine = [b for b in batches if b.recipe_code == recipe.code]
    if cup_g is None and declared_g is None and recipe.declared_weight_g is not None:
        declared_g = float(recipe.declared_weight_g)
    if (cup_g is None) == (declared_g is None):
        raise BadInput(
            f"for {recipe.name}, either the weight to declare or what a cup holds must be known",
            hint="give one of the two",
        )
    teachers = shop_teachers(desk)
    # The bar dries by its size, which a first fill tells well enough.
    first = cup_g if cup_g is not None else 1.2 * (declared_g or 0.0)
    coming = coming_bar(desk, recipe, mine, teachers, day=desk.today, bar_g=first)
    left = _left(desk, coming, even)
    if declared_g is not None:
        fill_g, asked = math.ceil(fill_for(declared_g, left, even) * 2) / 2, "fill"
    else:
        fill_g, asked = cup_g or 0.0, "declare"
        declared_g = float(math.floor(declare_for(fill_g, left, even)))
    return Fill(
        coming=coming,
        evenness=even,
        declared_g=declared_g,
        fill_g=fill_g,
        left=left,
        end_g=Interval(
            low=left.low * fill_g, nominal=left.nominal * fill_g, high=left.high * fill_g
        ),
        cups=cups_from(pot_g, fill_g) if pot_g is not None else None,
        asked=asked,
    )


def _left(desk: Desk, coming: Coming, even: Evenness) -> Interval:
    """Share of a fill that is left on the best-before day, what stays in the pot taken off."""
    months = coming.recipe.best_before_months or desk.shop.best_before_months
    mass = coming.forecast.mass_at(months * DAYS_A_MONTH)
    share = even.kept / coming.bar_g
    return Interval(low=mass.low * share, nominal=mass.nominal * share, high=mass.high * share)


def record(found: Fill) -> dict[str, object]:
    """The answer as a JSON record."""
    early, expected, late = found.coming.dry_days
    return {
        "recipe": found.coming.recipe.code,
        "asked": found.asked,
        "declared_g": found.declared_g,
        "fill_g": found.fill_g,
        "sure_percent": 95,
        "end_g": found.end_g.as_dict(),
        "dry_days": {"early": early, "expected": expected, "late": late},
        "cups": found.cups.count if found.cups else None,
        "each_g": found.cups.each_g if found.cups else None,
        "spread_percent": 100 * found.evenness.spread,
        "batches": found.evenness.batches,
    }


def sentence(found: Fill) -> str:
    """The answer in one line."""
    name = found.coming.recipe.name
    if found.asked == "fill":
        said = f"To sell {name} at {found.declared_g:g} g, fill each cup with {found.fill_g:g} g"
    else:
        said = (
            f"Cups that hold {found.fill_g:g} g of {name}: declare at most {found.declared_g:g} g"
        )
    said += " (95 % sure of each bar at its best-before)"
    if found.cups is not None:
        said += f". The pot fills {found.cups.count} cups with {found.cups.each_g:.1f} g each"
    return f"{said}."


@one_snapshot
def line_for(desk: Desk, code: str, pot_g: float | None = None) -> str:
    """The line that stands beside a recipe with a declared weight; empty when it has none."""
    with desk.ledger.read() as reader:
        recipe, _ = find_recipe(reader, code)
    if recipe.declared_weight_g is None:
        return ""
    try:
        return sentence(fill(desk, code, pot_g=pot_g))
    except BadInput:  # a pot that fills no cup
        return sentence(fill(desk, code))


def reasons(found: Fill) -> list[str]:
    """Where the figures come from, and what is not known."""
    early, expected, late = found.coming.dry_days
    even = found.evenness
    taught = (
        f"learnt from {even.batches} batches you took out of the mould"
        if even.batches
        else "a guess: no two batches of yours tell it yet"
    )
    return [
        f"A bar weighs {found.end_g.nominal:.0f} g in the end "
        f"({found.end_g.low:.0f} to {found.end_g.high:.0f}); "
        f"it is dry {expected:.0f} days after the pour ({early:.0f} to {late:.0f}).",
        f"Single fills differ by {100 * even.spread:.1f} % (standard deviation; {taught}).",
        f"Of the batter, {100 * even.kept:.1f} % comes out of the mould as bars.",
    ]
