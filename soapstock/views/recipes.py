"""Recipes on record, and a recipe scaled with the lots at hand."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

from soapstock.chemistry.interval import Interval
from soapstock.codes.lot import LotCode
from soapstock.desk.desk import Desk
from soapstock.desk.finding import find_recipe, free_lot_code, parsed_recipe
from soapstock.recipes.scaling import scale
from soapstock.recipes.target import as_written
from soapstock.recipes.verdicts import LyeMark, lye_mark

if TYPE_CHECKING:
    from soapstock.chemistry.interval import Interval
    from soapstock.recipes.recipe import Recipe
    from soapstock.recipes.scaling import ScaledBatch, Target


NO_STEP_G = Decimal("0.001")  # a mark is of the recipe, not of the scale it is weighed on


@dataclass(frozen=True, slots=True, kw_only=True)
class RecipeRow:
    """A recipe in the list.

    Attributes:
        kind: `by rule` or `as written`.
        lye: how its own masses stand with the lye.
        retired: why it is no longer poured; empty while it is.
    """

    code: str
    name: str
    version: int
    kind: str
    superfat_percent: float | None
    cure_days: int
    declared_g: float | None
    fats: str
    lye: LyeMark
    retired: str


def list_recipes(desk: Desk) -> list[RecipeRow]:
    """Every recipe, by code, those that are retired too."""
    with desk.ledger.read() as reader:
        stored = reader.recipes()
    rows = []
    for item in stored:
        recipe = parsed_recipe(item.text, f"recipe {item.code}")
        declared = recipe.declared_weight_g
        rows.append(
            RecipeRow(
                code=recipe.code,
                name=recipe.name,
                version=item.version,
                kind="by rule" if recipe.as_written is None else "as written",
                superfat_percent=recipe.superfat_percent,
                cure_days=recipe.cure_days or desk.shop.default_cure_days,
                declared_g=round(float(declared), 1) if declared else None,
                fats=", ".join(fat.fat for fat in recipe.fats),
                lye=recipe_mark(recipe),
                retired=item.retired,
            )
        )
    return rows


def recipe_mark(recipe: Recipe) -> LyeMark:
    """How the recipe's own masses stand with the lye, weighed without any error."""
    return lye_mark(scale(recipe, as_written(recipe), scale_step_g=NO_STEP_G).superfat)


def recipe_text(desk: Desk, code: str, version: int | None) -> tuple[str, int]:
    """The stored text of a recipe and its version."""
    with desk.ledger.read() as reader:
        find_recipe(reader, code, version)
        stored = reader.recipe(code.strip().upper(), version)
    return stored.text, stored.version


def lot_saponification(desk: Desk, recipe: Recipe) -> dict[str, Interval]:
    """Saponification values known better than the table: certificates of the lots used next.

    Only when every lot in store of a fat carries a certificate is its own interval used, as the
    span of them; otherwise the table's interval stands.
    """
    known: dict[str, Interval] = {}
    with desk.ledger.read() as reader:
        lots = reader.ingredient_lots()
    lots = [lot for lot in lots if lot.left_mg > 0 and not lot.hold_reason]
    for fat in {f.fat for f in recipe.fats}:
        mine = [lot for lot in lots if lot.ingredient == fat]
        spans = [(lot.sv_low, lot.sv_nominal, lot.sv_high) for lot in mine]
        sure = [(a, b, c) for a, b, c in spans if a is not None and b is not None and c is not None]
        if mine and len(sure) == len(mine):
            known[fat] = Interval(
                low=min(s[0] for s in sure),
                nominal=sum(s[1] for s in sure) / len(sure),
                high=max(s[2] for s in sure),
            )
    return known


def scale_recipe(
    desk: Desk, code: str, target: Target, *, version: int | None = None, start_c: float = 20.0
) -> tuple[Recipe, int, ScaledBatch]:
    """Scale a stored recipe to a target, with the certificates of the lots in store."""
    with desk.reading() as (here, reader):
        recipe, found = find_recipe(reader, code, version)
        known = lot_saponification(here, recipe)
    scaled = scale(
        recipe,
        target,
        scale_step_g=desk.shop.scale_step_g,
        sv=known,
        start_c=start_c,
        market=desk.shop.market,
    )
    return recipe, found, scaled


def next_lot_code(desk: Desk, product: str, day: date) -> LotCode:
    """The lot code the next pour (or receipt) of that product and day will have."""
    with desk.ledger.read() as reader:
        return free_lot_code(reader, product, day)
