"""What went into the pot as weighed, and its composition: all that a listing asks of a pour."""

from __future__ import annotations

from dataclasses import dataclass, replace

from soapstock.chemistry.composition import Composition, Part, composition_at_pour
from soapstock.chemistry.liquids import liquids
from soapstock.chemistry.lye import FatPortion
from soapstock.chemistry.takers import added_acids, lye_takers, reacting_portion, takes_lye
from soapstock.recipes.recipe import Recipe
from soapstock.recipes.written import lye_of, water_of_ready_lye_g


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

    @property
    def takers(self) -> tuple[FatPortion, ...]:
        """Everything that takes lye: the fats, acids, and milks by their fat."""
        added = dict[str, float]()
        for part in self.additions:
            added[part.key] = added.get(part.key, 0.0) + part.mass_g
        return (*self.fats, *lye_takers(added))


def composition_of(recipe: Recipe, actual: ActualMasses) -> Composition:
    """Composition at pour of what was weighed, at the recipe's assay.

    The water in a liquid of our list, such as milk, counts as water, its fat as fat under the
    liquid's key, its other solids as an addition. An acid's salt is an addition under the acid's
    key: it is no soap.
    """
    known, water_g = liquids(), actual.water_g
    portions, additions = list(actual.fats), list[Part]()
    for part in actual.additions:
        rest_g = part.mass_g
        if part.key in known:
            water_g += known[part.key].water_g(part.mass_g)
            rest_g -= known[part.key].water_g(part.mass_g)
        if takes_lye(part.key):
            portions.append(reacting_portion(part.key, part.mass_g))
            rest_g -= portions[-1].mass_g
        additions.append(Part(key=part.key, mass_g=rest_g))
    lye = lye_of(recipe, actual.naoh_g, actual.koh_g)
    inside_g = water_of_ready_lye_g(recipe, actual.naoh_g)  # part of the water as entered
    made = composition_at_pour(portions, lye, max(water_g - inside_g, 0.0), additions)
    made = replace(made, water_g=made.water_g + inside_g, inert_g=made.inert_g - inside_g)
    return _salts_apart(made)


def _salts_apart(made: Composition) -> Composition:
    acids = added_acids()
    salts = [Part(key=soap.fat, mass_g=soap.mass_g) for soap in made.soaps if soap.fat in acids]
    salts += [part for part in made.unsaponified if part.key in acids]
    return replace(
        made,
        soaps=tuple(soap for soap in made.soaps if soap.fat not in acids),
        unsaponified=tuple(part for part in made.unsaponified if part.key not in acids),
        additions=tuple(part for part in (*made.additions, *salts) if part.mass_g > 0.0),
    )
