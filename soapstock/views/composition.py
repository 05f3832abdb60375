"""What is in the pot and in the bar: soaps, fat left over, glycerol, water, additions."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from soapstock.chemistry.composition import Part
from soapstock.chemistry.fats import all_fats, get_fat
from soapstock.chemistry.keeping import keeping_of
from soapstock.chemistry.liquids import liquids
from soapstock.chemistry.takers import added_acids
from soapstock.desk.desk import Desk, one_snapshot
from soapstock.errors import BadInput
from soapstock.recipes.pour import ActualMasses, composition_of
from soapstock.recipes.scaled import cautions_of
from soapstock.recipes.written import portions_of, sv_in_use
from soapstock.views.recipes import lot_saponification, scale_recipe

if TYPE_CHECKING:
    from soapstock.chemistry.composition import Composition, Soap
    from soapstock.recipes.recipe import Recipe
    from soapstock.recipes.scaling import ScaledBatch, Target


MOST_LOSS_PERCENT = 60.0


@dataclass(frozen=True, slots=True, kw_only=True)
class PartRow:
    """One part of a bar, g and % of it."""

    part: str
    mass_g: float
    percent: float


@dataclass(frozen=True, slots=True, kw_only=True)
class CompositionRow:
    """What is in a batch that has lost a share of its mass, with the lye's cautions."""

    code: str
    lost_percent: float
    total_g: float
    parts: tuple[PartRow, ...]
    water_percent: float
    most_loss_percent: float
    total_fatty_matter_percent: float
    free_alkali_percent_naoh: float
    polyunsaturated_percent_of_free_fat: float | None
    notes: tuple[str, ...]
    cautions: tuple[str, ...]


@one_snapshot
def composition_row(desk: Desk, code: str, target: Target, lost_percent: float) -> CompositionRow:
    """Composition of a scaled recipe after it has lost a share of its mass, and the cautions.

    Args:
        lost_percent: mass lost by drying since the pour, %; 0 is the fresh batter once saponified.

    Raises:
        BadInput: more lost than the batter holds water.
    """
    if not 0.0 <= lost_percent <= MOST_LOSS_PERCENT:
        raise BadInput(f"{lost_percent:g} % lost is not 0 to {MOST_LOSS_PERCENT:g} %")
    recipe, _, scaled = scale_recipe(desk, code, target)
    poured = planned_composition(desk, recipe, scaled)
    now = poured.with_total(poured.total_g * (1.0 - lost_percent / 100.0))
    keeping = keeping_of(now)
    return CompositionRow(
        code=recipe.code,
        lost_percent=lost_percent,
        total_g=now.total_g,
        parts=_parts(now),
        water_percent=100.0 * now.water_fraction,
        most_loss_percent=100.0 * poured.water_fraction,
        total_fatty_matter_percent=100.0 * now.fatty_matter_fraction,
        free_alkali_percent_naoh=now.free_alkali_percent,
        polyunsaturated_percent_of_free_fat=keeping.polyunsaturated_percent,
        notes=(keeping.note,),
        cautions=cautions_of(scaled),
    )


def planned_composition(desk: Desk, recipe: Recipe, scaled: ScaledBatch) -> Composition:
    """Composition of a plan, as if it were weighed exactly."""
    fats = {line.ingredient: line.mass_g for line in scaled.fats}
    actual = ActualMasses(
        fats=portions_of(fats, sv_in_use(recipe, lot_saponification(desk, recipe))),
        naoh_g=float(scaled.naoh_g),
        koh_g=float(scaled.koh_g),
        water_g=float(scaled.water_g),
        additions=tuple(Part(key=key, mass_g=mass_g) for key, mass_g in scaled.added_g.items()),
    )
    return composition_of(recipe, actual)


def _fat_name(key: str) -> str:
    """Trade name of a fat, or of the fat in a milk."""
    return f"fat of {liquids()[key].name}" if key in liquids() else get_fat(key).trade_name


def _soap_name(soap: Soap) -> str:
    fat, salt = all_fats().get(soap.fat), None
    if fat is not None:
        salt = fat.sodium_salt if soap.metal == "sodium" else fat.potassium_salt
    return salt or f"{soap.metal} soap of {_fat_name(soap.fat)}"


def _parts(now: Composition) -> tuple[PartRow, ...]:
    rows: list[tuple[str, float]] = [(_soap_name(soap), soap.mass_g) for soap in now.soaps]
    rows += [(f"{_fat_name(p.key)}, left over", p.mass_g) for p in now.unsaponified]
    rows += [
        ("glycerol", now.glycerol_g),
        ("water", now.water_g),
        ("free NaOH", now.free_naoh_g),
        ("free KOH", now.free_koh_g),
        ("rest of the lye's assay", now.inert_g),
    ]
    acids = added_acids()
    rows += [
        (f"{acids[part.key].name} and its salt" if part.key in acids else part.key, part.mass_g)
        for part in now.additions
    ]
    total = now.total_g
    return tuple(
        PartRow(part=name, mass_g=mass, percent=100.0 * mass / total)
        for name, mass in rows
        if mass > 0.0
    )
