"""Masses as a person says them, matched to a recipe and judged for slips."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, Literal

from soapstock.chemistry.composition import Part
from soapstock.chemistry.fats import all_fats, fat_called, get_fat
from soapstock.chemistry.heat import lye_peak
from soapstock.chemistry.lye import FatPortion
from soapstock.errors import BadInput, Mend, RuleBroken
from soapstock.recipes.keys import keys_meant, plain_key
from soapstock.recipes.pour import ActualMasses
from soapstock.units import parse_mass_g

if TYPE_CHECKING:
    from soapstock.recipes.pour import ActualMasses, PourJudgement
    from soapstock.recipes.recipe import Recipe
    from soapstock.recipes.scaling import ScaledBatch


Role = Literal["fat", "naoh", "koh", "liquid", "addition"]  # what an ingredient is in a pour
WATER = "water"
ALKALIS = ("naoh", "koh")


@dataclass(frozen=True, slots=True, kw_only=True)
class Weighed:
    """One weighing: the ingredient, its mass, and the lot it came from if the maker named one."""

    ingredient: str
    mass_g: Decimal
    lot: str | None = None


def needed(recipe: Recipe) -> list[str]:
    """The ingredients a pour of this recipe must weigh, in weighing order."""
    names = [fat.fat for fat in recipe.fats]
    if recipe.as_written is not None:
        stated = recipe.as_written
        names += [key for key, m in (("naoh", stated.naoh_g), ("koh", stated.koh_g)) if m]
    else:
        names += ["naoh"] if recipe.lye.naoh_share > 0 else []
        names += ["koh"] if recipe.lye.naoh_share < 1 else []
    if recipe.water is None or not recipe.water.liquids_count:
        names.append(WATER)
    names += [a.ingredient for a in recipe.additions if a.basis != "unmeasured"]
    return list(dict.fromkeys(names))


def allowed(recipe: Recipe) -> list[str]:
    """All names a pour of this recipe may weigh: the needed ones and the unmeasured colours."""
    return list(dict.fromkeys([*needed(recipe), WATER, *(a.ingredient for a in recipe.additions)]))


def parse_weighed(text: str, recipe: Recipe, same: Callable[[str], str] = plain_key) -> Weighed:
    """`beef-tallow=1320g` or `beef-tallow=1320g@LOT` as a weighing.

    A fat that the recipe does not have is a substitute; `0` of a fat says that none was there.

    Args:
        same: the one key behind all the names of an ingredient.

    Raises:
        BadInput: not of that form, a bad mass, or no such ingredient in the recipe.
    """
    name, equals, rest = text.partition("=")
    if not equals:
        raise BadInput(
            f"'{text}' is not understood", hint="write it like tallow=1320g or tallow=1320g@LOT"
        )
    substitute = fat_called(same(name))
    if substitute is not None and not keys_meant(name, allowed(recipe), same):
        ingredient = substitute.key
    else:
        ingredient = match_name(name, allowed(recipe), recipe.code, same)
    mass, at, lot = rest.partition("@")
    none = mass.strip() == "0"
    mass_g = Decimal(0) if none else parse_mass_g(mass, ingredient)
    if mass_g <= 0 and _role(recipe, ingredient) != "fat":
        raise BadInput(f"{ingredient} weighed as nothing", hint="give its mass, or leave it out")
    return Weighed(ingredient=ingredient, mass_g=mass_g, lot=lot.strip() if at else None)


def match_name(
    name: str, names: Sequence[str], code: str, same: Callable[[str], str] = plain_key
) -> str:
    """The ingredient of a recipe that is meant: the key, or the only one of which it begins a word.

    Raises:
        BadInput: none or several match; says which there are.
    """
    hits = keys_meant(name, names, same)
    if len(hits) != 1:
        what = "is not in" if not hits else "may mean several things in"
        raise BadInput(f"'{name}' {what} recipe {code}", hint=f"it has: {', '.join(names)}")
    return hits[0]


def _role(recipe: Recipe, ingredient: str) -> Role:
    if ingredient == "naoh":
        return "naoh"
    if ingredient == "koh":
        return "koh"
    in_recipe = any(f.fat == ingredient for f in recipe.fats)
    return "fat" if in_recipe or ingredient in all_fats() else "addition"


def check_complete(recipe: Recipe, weighed: Sequence[Weighed]) -> None:
    """Raise BadInput when an ingredient is missing, or given twice without its lots."""
    given = [w.ingredient for w in weighed]
    missing = [name for name in needed(recipe) if name not in given]
    if missing:
        raise BadInput(
            f"not weighed: {', '.join(missing)}",
            hint="nothing was written",
            mend=Mend("give_weighed", ingredient=missing[0]),
        )
    plain = [w.ingredient for w in weighed if w.lot is None]
    twice = {name for name in plain if given.count(name) > 1}
    if twice:
        raise BadInput(
            f"{', '.join(sorted(twice))} given twice", hint="name the lot of each: NAME=MASS@LOT"
        )


def plain_masses(recipe: Recipe, weighed: Sequence[Weighed]) -> ActualMasses:
    """The masses as weighed, whatever lots they come from, at the tables' saponification values."""

    def sum_of(name: str) -> float:
        return sum(float(w.mass_g) for w in weighed if w.ingredient == name)

    roles = {w.ingredient: _role(recipe, w.ingredient) for w in weighed if w.ingredient != WATER}
    return ActualMasses(
        fats=tuple(
            FatPortion(fat=name, mass_g=sum_of(name), sv=get_fat(name).sv)
            for name, role in roles.items()
            if role == "fat"
        ),
        naoh_g=sum_of("naoh"),
        koh_g=sum_of("koh"),
        water_g=sum_of(WATER),
        additions=tuple(
            Part(key=name, mass_g=sum_of(name))
            for name, role in roles.items()
            if role == "addition"
        ),
    )


def refuse_slips(judgement: PourJudgement, *, record_anyway: str, sure: bool) -> None:
    """Raise RuleBroken when the masses would burn, or lie so far off that a slip is likelier.

    A refused batch passes with a reason to record it; masses far from the plan pass when the maker
    is sure of them.
    """
    slip = f" Likeliest slip: {judgement.slip}." if judgement.slip else ""
    if judgement.verdict.word == "refuse":
        if record_anyway.strip():
            return
        raise RuleBroken(
            f"this pour is refused: {'; '.join(judgement.verdict.reasons)}.{slip}",
            hint="weigh again before you mix; nothing was written. Raw lye burns: gloves, goggles, "
            "rinse splashes with plenty of water",
            mend=Mend("record_refused_pour"),
        )
    if judgement.far_off and not sure:
        raise RuleBroken(
            f"{' and '.join(judgement.far_off)} weighed far from the plan: "
            f"{'; '.join(judgement.differences)}.{slip}",
            hint="nothing was written; weigh again",
            mend=Mend("confirm"),
        )


def planned_weighings(scaled: ScaledBatch) -> list[Weighed]:
    """The plan's own masses as weighings, for a pour that went as planned."""
    masses = [(f.ingredient, f.mass_g) for f in scaled.fats]
    masses += [("naoh", scaled.naoh_g), ("koh", scaled.koh_g), (WATER, scaled.water_g)]
    masses += [(a.ingredient, a.mass_g) for a in scaled.additions if a.mass_g is not None]
    return [Weighed(ingredient=name, mass_g=mass) for name, mass in masses if mass]


def expected_peak_c(recipe: Recipe, actual: ActualMasses) -> float | None:
    """How hot the lye solution of these masses gets from 20 °C; None where no table covers it."""
    if actual.koh_g or not actual.naoh_g or not actual.water_g:
        return None
    ready = recipe.lye.ready_percent
    peak = lye_peak(
        naoh_g=actual.naoh_g,
        water_g=actual.water_g,
        ready_percent=ready.nominal if ready is not None else None,
    )
    return peak.peak_c if peak is not None else None
