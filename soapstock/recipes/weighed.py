"""What went into the pot as weighed, and its composition: all that a listing asks of a pour."""

from __future__ import annotations

from dataclasses import dataclass

from soapstock.chemistry.composition import Composition, Part, composition_at_pour
from soapstock.chemistry.liquids import liquids
from soapstock.chemistry.lye import FatPortion
from soapstock.recipes.recipe import Recipe
from soapstock.recipes.written import lye_of


@dataclass(frozen=True, slots=True, kw_only=True)
class ActualMasses:
    """What went into the pot, g.

    Attributes:
        fats: one portion per lot used.
        additions: the measured ones only.
    """

    fats: tuple[FatPortion, ...]
    naoh_g: float
    koh_g: float
    water_g: float
    additions: tuple[Part, ...] = ()


def composition_of(recipe: Recipe, actual: ActualMasses) -> Composition:
    """Composition at pour of what was weighed, at the recipe's assay.

    The water in a liquid of our list, such as milk, counts as water; its solids as an addition.
    """
    known, water_g, additions = liquids(), actual.water_g, []
    for part in actual.additions:
        inside = known[part.key].water_g(part.mass_g) if part.key in known else 0.0
        water_g += inside
        additions.append(Part(key=part.key, mass_g=part.mass_g - inside))
    lye = lye_of(recipe, actual.naoh_g, actual.koh_g)
    return composition_at_pour(actual.fats, lye, water_g, additions)
