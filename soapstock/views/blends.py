"""Changing a recipe's fats: scaled in practice, or swapped."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING

from soapstock.chemistry.fats import get_fat
from soapstock.chemistry.lye import FatPortion
from soapstock.chemistry.takers import lye_takers
from soapstock.desk.desk import Desk, one_snapshot
from soapstock.desk.finding import find_recipe
from soapstock.desk.ingredients import canonical
from soapstock.errors import BadInput
from soapstock.recipes.bars import BarShape, Brick, Cylinder
from soapstock.recipes.blend import substitute
from soapstock.recipes.moulds import fit_mould
from soapstock.recipes.notes import intended_superfat
from soapstock.recipes.practice import as_scaled
from soapstock.recipes.scaled import cautions_of
from soapstock.recipes.target import parse_have
from soapstock.recipes.verdicts import judge_pot
from soapstock.recipes.weighing import match_name
from soapstock.recipes.written import lye_of, sv_in_use, write_out
from soapstock.units import parse_length_mm, round_to_step
from soapstock.views.recipes import lot_saponification, scale_recipe

if TYPE_CHECKING:
    from soapstock.chemistry.interval import Interval
    from soapstock.recipes.blend import Blend
    from soapstock.recipes.recipe import Recipe
    from soapstock.recipes.scaling import ScaledBatch, Target


@dataclass(frozen=True, slots=True, kw_only=True)
class FatRow:
    """A fat of the pot."""

    ingredient: str
    mass_g: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class Practice:
    """What scaling the lye by one fat really gives, with the cautions; the lye is what is there."""

    code: str
    fats: tuple[FatRow, ...]
    naoh_g: Decimal
    koh_g: Decimal
    water_g: Decimal
    superfat_percent: Interval
    verdict: str
    reasons: tuple[str, ...]
    naoh_should_be_g: Decimal
    koh_should_be_g: Decimal
    differences: tuple[str, ...]
    cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangeRow:
    """A fat whose mass is another after the swap."""

    ingredient: str
    name: str
    before_g: Decimal
    after_g: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class Swapped:
    """A recipe with one fat swapped for another at equal lye demand, with the cautions.

    Attributes:
        acids_changed_percent: share of the fatty acids that is another now; None when not known.
        order_before, order_after: the label's order of fats.
    """

    code: str
    changes: tuple[ChangeRow, ...]
    naoh_g: Decimal
    koh_g: Decimal
    water_g: Decimal
    superfat_percent: Interval
    verdict: str
    reasons: tuple[str, ...]
    acids_changed_percent: float | None
    order_before: tuple[str, ...]
    order_after: tuple[str, ...]
    cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class MouldFill:
    """What a number of moulds hold of a recipe; the bars are None where none has a size."""

    code: str
    mould: str
    count: int
    volume_ml: float
    density_g_ml: float
    batter_g: float
    bars: int | None
    wet_bar_g: float | None


@one_snapshot
def practice(desk: Desk, code: str, by: str, poured: Sequence[str]) -> Practice:
    """What scaling the lye by one fat really gives.

    Args:
        by: the fat the lye was scaled by, `tallow=1340g`.
        poured: other fats as poured by hand, in the same form.
    """
    with desk.ledger.read() as reader:
        recipe, _ = find_recipe(reader, code)
    names = [fat.fat for fat in recipe.fats]
    found = as_scaled(
        recipe,
        _fat_mass(by, names, recipe.code),
        dict(_fat_mass(text, names, recipe.code) for text in poured),
        scale_step_g=desk.shop.scale_step_g,
        sv=lot_saponification(desk, recipe),
    )
    judged = found.judgement
    return Practice(
        code=recipe.code,
        fats=tuple(FatRow(ingredient=key, mass_g=mass) for key, mass in found.fats_g.items()),
        naoh_g=found.plan.naoh_g,
        koh_g=found.plan.koh_g,
        water_g=found.plan.water_g,
        superfat_percent=judged.superfat,
        verdict=judged.verdict.word,
        reasons=tuple(judged.verdict.reasons),
        naoh_should_be_g=found.naoh_should_be_g,
        koh_should_be_g=found.koh_should_be_g,
        differences=tuple(judged.differences),
        cautions=cautions_of(found.plan),
    )


def _fat_mass(text: str, names: Sequence[str], code: str) -> tuple[str, Decimal]:
    name, mass = parse_have(text)
    return match_name(name, names, code, canonical), mass


@one_snapshot
def swap(desk: Desk, code: str, target: Target, out: str, into: str) -> Swapped:
    """Swap one fat of a scaled recipe for another at equal lye demand."""
    recipe, _, scaled = scale_recipe(desk, code, target)
    sv = lot_saponification(desk, recipe)
    masses = _masses(scaled)
    get_fat(into)
    blend = substitute(masses, match_name(out, list(masses), recipe.code, canonical), into, sv=sv)
    return _swapped(desk, recipe, scaled, blend, sv)


def _masses(scaled: ScaledBatch) -> dict[str, float]:
    return {line.ingredient: float(line.mass_g) for line in scaled.fats}


def _swapped(
    desk: Desk,
    recipe: Recipe,
    scaled: ScaledBatch,
    blend: Blend,
    sv: Mapping[str, Interval],
) -> Swapped:
    step = desk.shop.scale_step_g
    masses = {fat: round_to_step(mass, step) for fat, mass in blend.masses_g.items()}
    portions = [
        FatPortion(fat=fat, mass_g=float(mass), sv=sv.get(fat, get_fat(fat).sv))
        for fat, mass in masses.items()
        if mass > 0
    ]
    portions += lye_takers(scaled.added_g)
    study, verdict = judge_pot(
        portions,
        lye_of(recipe, scaled.naoh_g, scaled.koh_g),
        scale_step_g=float(step),
        meant_percent=intended_superfat(recipe),
    )
    return Swapped(
        code=recipe.code,
        changes=tuple(
            ChangeRow(
                ingredient=change.fat,
                name=change.name,
                before_g=round_to_step(change.before_g, step),
                after_g=masses.get(change.fat, Decimal(0)),
            )
            for change in blend.changes
        ),
        naoh_g=scaled.naoh_g,
        koh_g=scaled.koh_g,
        water_g=scaled.water_g,
        superfat_percent=study.bounds,
        verdict=verdict.word,
        reasons=tuple(verdict.reasons),
        acids_changed_percent=blend.acid_distance_percent,
        order_before=tuple(blend.order_before),
        order_after=tuple(blend.order_after),
        cautions=cautions_of(scaled),
    )


@one_snapshot
def fill_moulds(desk: Desk, code: str, sizes: str, count: int) -> MouldFill:
    """What a number of moulds hold of a recipe.

    Args:
        sizes: inside sizes joined by x: three for a box, two for a cylinder, as `30cm x 9cm x 6cm`.
    """
    with desk.ledger.read() as reader:
        recipe, _ = find_recipe(reader, code)
    mould = parse_mould(sizes)
    density = write_out(recipe, sv_in_use(recipe, lot_saponification(desk, recipe))).density_g_ml
    fit = fit_mould(mould, count=count, density_g_ml=density, bar=recipe.bar)
    return MouldFill(
        code=recipe.code,
        mould=mould.describe(),
        count=count,
        volume_ml=fit.volume_ml,
        density_g_ml=density,
        batter_g=fit.batter_g,
        bars=fit.bars,
        wet_bar_g=fit.wet_bar_g,
    )


def parse_mould(sizes: str) -> BarShape:
    """The inside shape of a mould: three sizes are a box, two a cylinder (diameter, height)."""
    parts = [float(parse_length_mm(part, "mould size")) for part in sizes.lower().split("x")]
    if len(parts) == 3:
        return Brick(length_mm=parts[0], width_mm=parts[1], height_mm=parts[2])
    if len(parts) == 2:
        return Cylinder(diameter_mm=parts[0], height_mm=parts[1])
    raise BadInput(
        f"mould '{sizes}' has {len(parts)} sizes",
        hint="a box: 30cm x 9cm x 6cm; a cylinder: 7cm x 30cm (across, high)",
    )
