"""What a declaration lists, before it is put in order: names, masses, colours and scents.

Masses are those of the pour in both conventions: what was weighed in, or the soap, glycerin and fat
left over that it makes. Water lost in drying moves nothing, so a lot has one list for good.
Ingredients that print the same name (two lots, two fats with one INCI name) become one entry.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Literal

from soapstock.chemistry.composition import Composition
from soapstock.chemistry.fats import all_fats
from soapstock.chemistry.takers import added_acids
from soapstock.errors import BadInput, RuleBroken
from soapstock.labelling.law import Market
from soapstock.labelling.names import find_fat, find_material, name_of
from soapstock.recipes.pour import ActualMasses
from soapstock.recipes.recipe import Addition, Recipe

CONVENTIONS = ("poured", "finished")
HYDROXIDES = ("sodium-hydroxide", "potassium-hydroxide")
_TRACE_FRACTION = 1e-7  # below a tenth of a milligram per kilogram nothing is there to list
# An ingredient we do not know whose key or label name says that it smells.
_SMELLS = re.compile(
    r"fragran|parfum|perfume|scent|aroma|essential|(^|[-\s])eo($|[-\s])", re.IGNORECASE
)


@dataclass(slots=True)
class Entry:
    """A name being summed, with the keys of what it sums."""

    mass_g: float = 0.0
    colour: bool = False
    measured: bool = False
    allergen: bool = False
    keys: set[str] = field(default_factory=set)


@dataclass(frozen=True, slots=True, kw_only=True)
class Form:
    """How a list is to be written: market, convention, style of names, scents grouped or not."""

    market: Market
    convention: Literal["poured", "finished"]
    style: str
    grouped_scents: bool


def make_form(
    market: Market,
    *,
    convention: str | None,
    style: str | None,
    scent: str | None,
) -> Form:
    """The form of a list; None takes the market's own.

    Raises:
        BadInput: unknown convention or scent, or an ingredient left off without a reason.
        RuleBroken: names the market does not take, or it has no rule on incidental ingredients.
    """
    chosen = convention or market.default_convention
    if chosen not in CONVENTIONS:
        raise BadInput(f"convention '{chosen}' is unknown", hint="one of poured, finished")
    names = style or market.default_style
    if names not in market.styles:
        raise RuleBroken(
            f"market '{market.key}' does not take names in style '{names}'",
            hint=f"use {' or '.join(market.styles)}",
        )
    scents = scent or market.default_scent
    if scents not in ("named", "grouped"):
        raise BadInput(f"scent '{scents}' is unknown", hint="one of named, grouped")
    return Form(
        market=market,
        convention="poured" if chosen == "poured" else "finished",
        style=names,
        grouped_scents=scents == "grouped",
    )


def smells(key: str, label_name: str = "") -> bool:
    """Whether an ingredient is a scent; one we do not know counts if its words say so."""
    material = find_material(key)
    if material is not None:
        return material.role == "scent"
    return find_fat(key) is None and bool(_SMELLS.search(key) or _SMELLS.search(label_name))


def planned_additions(recipe: Recipe) -> dict[str, Addition]:
    """The recipe's additions by ingredient."""
    return {addition.ingredient: addition for addition in recipe.additions}


def scents_of(actual: ActualMasses, recipe: Recipe, also: Mapping[str, object]) -> dict[str, float]:
    """Mass of each scent in the batch, g; `also` holds further keys that carry allergens."""
    planned, found = planned_additions(recipe), dict[str, float]()
    for part in actual.additions:
        addition = planned.get(part.key)
        label_name = addition.label_name if addition is not None else ""
        if smells(part.key, label_name) or part.key in also:
            found[part.key] = found.get(part.key, 0.0) + part.mass_g
    return found


def _base_masses(
    actual: ActualMasses, composition: Composition, form: Form
) -> Iterator[tuple[str, float, str]]:
    """Name, mass and key of everything but the additions."""
    style = form.style
    naoh, koh = (name_of(key, style=style) for key in HYDROXIDES)
    water, glycerin = name_of("water", style=style), name_of("glycerin", style=style)
    if form.convention == "poured":
        for portion in actual.fats:
            yield name_of(portion.fat, style=style), portion.mass_g, portion.fat
        yield naoh, actual.naoh_g, HYDROXIDES[0]
        yield koh, actual.koh_g, HYDROXIDES[1]
        yield water, actual.water_g, "water"
        return
    known = all_fats()  # a soap of none of them is that of a milk's fat: the milk is listed whole
    for soap in composition.soaps:
        if soap.fat not in known:
            continue
        name = name_of(soap.fat, style=style, as_salt=soap.metal)
        yield name, soap.mass_g, f"soap:{soap.fat}"
    for part in composition.unsaponified:
        if part.key in known:
            yield name_of(part.key, style=style), part.mass_g, part.key
    yield glycerin, composition.glycerol_g, "glycerin"
    yield naoh, composition.free_naoh_g, HYDROXIDES[0]
    yield koh, composition.free_koh_g, HYDROXIDES[1]
    yield water, actual.water_g, "water"


def _name(key: str, planned: Mapping[str, Addition], form: Form) -> str:
    addition = planned.get(key)
    label_name = addition.label_name if addition is not None else ""
    if form.grouped_scents and smells(key, label_name):
        return name_of("fragrance", style=form.style)
    material = find_material(key)
    if form.style == "eu" and material is not None and material.as_colour:
        if addition is not None and addition.colour:
            return material.as_colour
    return label_name or name_of(key, style=form.style)


def _is_colour(key: str, planned: Mapping[str, Addition]) -> bool:
    addition, material = planned.get(key), find_material(key)
    flagged = addition is not None and addition.colour
    return flagged or (material is not None and material.role == "colour")


def _became(key: str, composition: Composition, form: Form) -> str:
    """Key an addition is listed by: for an acid in a finished list its salt, if that has a name."""
    acid = added_acids().get(key)
    if acid is None or form.convention == "poured":
        return key
    of_potassium = sum(s.moles for s in composition.soaps if s.metal == "potassium")
    potassium = 2.0 * of_potassium > sum(s.moles for s in composition.soaps)
    salt = acid.potassium if potassium else acid.sodium
    return salt if find_material(salt) is not None else key


def gather(
    actual: ActualMasses, composition: Composition, recipe: Recipe, form: Form
) -> dict[str, Entry]:
    """Everything the list names, by the name printed; masses in g.

    Raises:
        NotFound: an ingredient without a label name.
        RuleBroken: an unweighed scent where allergens are due, or lye left off that is still free.
    """
    planned = planned_additions(recipe)
    entries: dict[str, Entry] = {}

    def add(name: str, mass_g: float, key: str, *, colour: bool = False) -> None:
        if mass_g <= 0.0:
            return
        entry = entries.setdefault(name, Entry())
        entry.mass_g += mass_g
        entry.measured = True
        entry.colour = entry.colour or colour
        entry.keys.add(key)

    base_g = 0.0
    for name, mass_g, key in _base_masses(actual, composition, form):
        base_g += mass_g
        add(name, mass_g, key)
    for part in actual.additions:
        key = _became(part.key, composition, form)
        name, colour = _name(key, planned, form), _is_colour(part.key, planned)
        add(name, part.mass_g, part.key, colour=colour)
    floor_g = base_g * _TRACE_FRACTION
    entries = {name: entry for name, entry in entries.items() if entry.mass_g > floor_g}
    measured = {part.key for part in actual.additions if part.mass_g > 0.0}
    _add_unmeasured(entries, planned, measured, form)
    return entries


def _add_unmeasured(
    entries: dict[str, Entry],
    planned: Mapping[str, Addition],
    measured: set[str],
    form: Form,
) -> None:
    """Additions put in by eye: the recipe names them, no mass was taken."""
    for key, addition in planned.items():
        if addition.basis != "unmeasured" or key in measured:
            continue
        if smells(key, addition.label_name) and form.market.allergens:
            raise RuleBroken(
                f"scent '{key}' was not weighed, and market '{form.market.key}'"
                " wants its allergens judged by weight",
                hint="enter its mass with the pour",
            )
        entry = entries.setdefault(_name(key, planned, form), Entry())
        entry.colour = entry.colour or _is_colour(key, planned)
        entry.keys.add(key)
