"""Notes that stand under a scaled batch: what is not known, what to watch, what to weigh finer."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from soapstock.chemistry.heat import LyePeak
from soapstock.chemistry.interval import Interval
from soapstock.chemistry.liquids import liquids
from soapstock.recipes.limits import purity_notes
from soapstock.recipes.recipe import Recipe
from soapstock.recipes.solution import ready_solution
from soapstock.tables import read_toml
from soapstock.units import mass_words, round_to_step

ROUGH_LYE_PERCENT = 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class NotedMasses:
    """The lye solution as weighed, g, and the scale's step."""

    naoh_g: Decimal
    koh_g: Decimal
    water_g: Decimal
    step_g: Decimal


def batch_notes(
    recipe: Recipe,
    masses: NotedMasses,
    peak: LyePeak | None,
    should: tuple[Decimal, Decimal] | None,
    *,
    market: str | None,
) -> tuple[str, ...]:
    """All notes of a batch; `should`: where the lye is as written, the NaOH and KOH asked, g."""
    return (
        *_lye_notes(recipe, masses),
        *_solution_notes(recipe, masses),
        *liquid_cautions(recipe),
        *_peak_notes(peak),
        *_should_notes(recipe, should),
        *purity_notes(_keys_of(recipe), market),
    )


def _keys_of(recipe: Recipe) -> list[str]:
    return [*(fat.fat for fat in recipe.fats), *(one.ingredient for one in recipe.additions)]


def intended_superfat(recipe: Recipe) -> float:
    """The recipe's own superfat, %; the usual one of the tables for a recipe without."""
    if recipe.superfat_percent is not None:
        return recipe.superfat_percent
    return float(read_toml("chemistry/lye.toml")["superfat"]["usual_percent"])


def _solution_notes(recipe: Recipe, masses: NotedMasses) -> tuple[str, ...]:
    strength = recipe.lye.ready_percent
    if strength is None or masses.naoh_g == 0:
        return ()
    percent = strength.nominal
    ready = ready_solution(
        naoh_g=float(masses.naoh_g), water_g=float(masses.water_g), percent=percent
    )
    solution, water = (
        mass_words(round_to_step(mass, masses.step_g)) for mass in (ready.solution_g, ready.water_g)
    )
    return (
        f"ready lye of {percent:g} % NaOH by mass ({strength.low:g} to {strength.high:g} %): weigh "
        f"{solution} of it and {water} more water; it is entered as the NaOH and water above",
        *ready.warnings,
    )


def liquid_cautions(recipe: Recipe) -> tuple[str, ...]:
    """What to look out for with the milk, honey or beer of a recipe, beside its lye."""
    known = liquids()
    return tuple(
        caution
        for one in recipe.additions
        if one.ingredient in known
        for caution in known[one.ingredient].cautions
    )


def _should_notes(recipe: Recipe, should: tuple[Decimal, Decimal] | None) -> tuple[str, ...]:
    if should is None:
        return ()
    whose = "the usual" if recipe.superfat_percent is None else "the recipe's"
    pairs = zip(("NaOH", "KOH"), should, strict=True)
    parts = [f"{mass_words(mass)} {name}" for name, mass in pairs if mass]
    superfat = f"{intended_superfat(recipe):g} % superfat"
    return (f"for {whose} {superfat} these fats ask {' and '.join(parts)}",)


def _lye_notes(recipe: Recipe, masses: NotedMasses) -> tuple[str, ...]:
    spec, notes = recipe.lye, []
    if masses.naoh_g > 0 and not spec.naoh_assay_stated and spec.ready_percent is None:
        notes.append(_unstated("NaOH", spec.naoh_assay))
    if masses.koh_g > 0 and not spec.koh_assay_stated:
        notes.append(_unstated("KOH", spec.koh_assay))
    for name, mass in (("NaOH", masses.naoh_g), ("KOH", masses.koh_g)):
        if mass > 0 and float(50 * masses.step_g / mass) > ROUGH_LYE_PERCENT:
            notes.append(
                f"weigh {name} on a finer scale: {mass_words(masses.step_g)} steps are too coarse"
            )
    return tuple(notes)


def _unstated(name: str, assay: Interval) -> str:
    key = f"{name.lower()}_assay_percent"
    return (
        f"{name} assay not stated: taken as {assay.nominal:g} % ({assay.low:g} to "
        f"{assay.high:g} %); write {key} under [lye] from the supplier's paper"
    )


def _peak_notes(peak: LyePeak | None) -> tuple[str, ...]:
    if peak is not None:
        return peak.warnings
    return ("peak temperature unknown: no table covers this lye; expect it to be near boiling",)
