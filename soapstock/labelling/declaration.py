"""The ingredient declaration: what is listed, under which name, in which order.

Two conventions, never mixed for one fat: `poured` lists fats, hydroxide and water as they were
weighed into the pot; `finished` lists what is in the bar at pack: soaps, glycerin, fat left over,
water left. No law text settles which (tables/law/eu.toml, rule `convention`).
Order: 21 CFR 701.3(f), Regulation (EC) No 1223/2009 Art. 19(1)(g), C.R.C. c. 869 s. 21.4.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from types import MappingProxyType
from typing import Literal

from soapstock.chemistry.composition import Composition
from soapstock.errors import BadInput, RuleBroken
from soapstock.labelling.allergens import AllergenAmount, Certificates, allergens_in
from soapstock.labelling.law import Market, find_rule, get_market, market_on
from soapstock.labelling.names import find_material, name_of
from soapstock.labelling.words import words_of
from soapstock.recipes.pour import ActualMasses
from soapstock.recipes.recipe import Addition, Recipe

Group = Literal["main", "small", "colour"]
CONVENTIONS = ("poured", "finished")
_TRACE_FRACTION = 1e-7  # below a tenth of a milligram per kilogram nothing is there to list
_ROUND = 9  # decimals of a percentage before it is compared with a threshold
_RANKS: dict[Group, int] = {"main": 0, "small": 1, "colour": 2}


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One name on the list, with its mass and its share of the list's basis.

    An unmeasured addition has mass and share 0. An allergen's mass lies within its scent's.
    """

    name: str
    mass_g: float
    share_percent: float
    group: Group
    allergen: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Declaration:
    """The list in order, its text, and notes for the maker (not printed on the label).

    Attributes:
        convention: `poured` or `finished`.
        names: style of the names.
        lines: in the order printed.
        text: heading and names.
        notes: what to know about it.
        rule, confidence: the order rule followed, and how we know it.
        allergens: every listed allergen found, due or not.
    """

    convention: Literal["poured", "finished"]
    names: str
    lines: tuple[Line, ...]
    text: str
    notes: tuple[str, ...]
    rule: str = ""
    confidence: str = ""
    allergens: tuple[AllergenAmount, ...] = ()


@dataclass(slots=True)
class _Entry:
    """A name being summed: lots and ingredients that print the same name become one line."""

    mass_g: float = 0.0
    colour: bool = False
    measured: bool = False
    allergen: bool = False
    keys: set[str] = field(default_factory=set)


@dataclass(frozen=True, slots=True)
class _Form:
    """How this list is to be written."""

    market: Market
    convention: Literal["poured", "finished"]
    style: str
    grouped_scents: bool


def _form(market: Market, convention: str | None, style: str | None, scent: str | None) -> _Form:
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
    return _Form(
        market=market,
        convention="poured" if chosen == "poured" else "finished",
        style=names,
        grouped_scents=scents == "grouped",
    )


def _base_masses(
    actual: ActualMasses, composition: Composition, form: _Form
) -> Iterator[tuple[str, float, str]]:
    """Name, mass and key of everything but the additions."""
    style = form.style
    if form.convention == "poured":
        for portion in actual.fats:
            yield name_of(portion.fat, style=style), portion.mass_g, portion.fat
        yield name_of("sodium-hydroxide", style=style), actual.naoh_g, "sodium-hydroxide"
        yield name_of("potassium-hydroxide", style=style), actual.koh_g, "potassium-hydroxide"
        yield name_of("water", style=style), actual.water_g, "water"
        return
    for soap in composition.soaps:
        name = name_of(soap.fat, style=style, as_salt=soap.metal)
        yield name, soap.mass_g, f"soap:{soap.fat}"
    for part in composition.unsaponified:
        yield name_of(part.key, style=style), part.mass_g, part.key
    yield name_of("glycerin", style=style), composition.glycerol_g, "glycerin"
    free = name_of("sodium-hydroxide", style=style)
    yield free, composition.free_naoh_g, "sodium-hydroxide"
    free = name_of("potassium-hydroxide", style=style)
    yield free, composition.free_koh_g, "potassium-hydroxide"
    yield name_of("water", style=style), composition.water_g, "water"


def _addition_name(key: str, planned: Mapping[str, Addition], style: str) -> str:
    addition = planned.get(key)
    if addition is not None and addition.label_name:
        return addition.label_name
    return name_of(key, style=style)


def _is_colour(key: str, planned: Mapping[str, Addition]) -> bool:
    addition = planned.get(key)
    material = find_material(key)
    return bool(addition is not None and addition.colour) or (
        material is not None and material.role == "colour"
    )


def _is_scent(key: str) -> bool:
    material = find_material(key)
    return material is not None and material.role == "scent"


def _gather(
    actual: ActualMasses, composition: Composition, recipe: Recipe, form: _Form
) -> dict[str, _Entry]:
    planned = {addition.ingredient: addition for addition in recipe.additions}
    entries: dict[str, _Entry] = {}

    def add(name: str, mass_g: float, key: str, *, colour: bool = False) -> None:
        entry = entries.setdefault(name, _Entry())
        entry.mass_g += mass_g
        entry.measured = True
        entry.colour = entry.colour or colour
        entry.keys.add(key)

    base_g = 0.0
    for name, mass_g, key in _base_masses(actual, composition, form):
        base_g += mass_g
        if mass_g > 0.0:
            add(name, mass_g, key)
    for part in actual.additions:
        if part.mass_g <= 0.0:
            continue
        grouped = form.grouped_scents and _is_scent(part.key)
        name = (
            name_of("fragrance", style=form.style)
            if grouped
            else _addition_name(part.key, planned, form.style)
        )
        add(name, part.mass_g, part.key, colour=_is_colour(part.key, planned))
    floor_g = base_g * _TRACE_FRACTION
    entries = {name: entry for name, entry in entries.items() if entry.mass_g > floor_g}
    measured = {part.key for part in actual.additions if part.mass_g > 0.0}
    _add_unmeasured(entries, planned, measured, form)
    return entries


def _add_unmeasured(
    entries: dict[str, _Entry],
    planned: Mapping[str, Addition],
    measured: set[str],
    form: _Form,
) -> None:
    """Additions put in by eye: the recipe names them, no mass was taken."""
    for addition in planned.values():
        if addition.basis != "unmeasured" or addition.ingredient in measured:
            continue
        if _is_scent(addition.ingredient) and form.market.allergens:
            raise RuleBroken(
                f"scent '{addition.ingredient}' was not weighed, and market '{form.market.key}'"
                " wants its allergens judged by weight",
                hint="enter its mass with the pour",
            )
        name = _addition_name(addition.ingredient, planned, form.style)
        entry = entries.setdefault(name, _Entry())
        entry.colour = entry.colour or _is_colour(addition.ingredient, planned)
        entry.keys.add(addition.ingredient)


def _add_allergens(entries: dict[str, _Entry], found: tuple[AllergenAmount, ...]) -> None:
    for amount in found:
        if not amount.due or amount.allergen.name in entries:
            continue
        entries[amount.allergen.name] = _Entry(
            mass_g=amount.mass_g, measured=True, allergen=True, keys={amount.allergen.name}
        )


def _group(entry: _Entry, share_percent: float, market: Market) -> Group:
    if entry.colour:
        return "colour"
    if market.small == "none" or market.small_percent is None:
        return "main" if entry.measured else "small"
    limit, share = float(market.small_percent), round(share_percent, _ROUND)
    small = share <= limit if market.small == "not-exceeding" else share < limit
    return "small" if small else "main"


def _lines(entries: Mapping[str, _Entry], market: Market) -> tuple[Line, ...]:
    total_g = sum(entry.mass_g for entry in entries.values() if not entry.allergen)
    lines = []
    for name, entry in entries.items():
        share = 100.0 * entry.mass_g / total_g if total_g > 0.0 else 0.0
        lines.append(
            Line(
                name=name,
                mass_g=entry.mass_g,
                share_percent=share,
                group=_group(entry, share, market),
                allergen=entry.allergen,
            )
        )
    return tuple(sorted(lines, key=_place_of))


def _place_of(line: Line) -> tuple[int, float, bool, str]:
    """Sort key: group, heaviest first, a scent before the allergens that lie within it, name."""
    return _RANKS[line.group], -line.mass_g, line.allergen, line.name


def _water_note(
    lines: tuple[Line, ...], entries: Mapping[str, _Entry], waters_g: tuple[float, float]
) -> str | None:
    """Says where water would stand by its mass at pour and at pack, when the two differ."""
    name = next((name for name, entry in entries.items() if "water" in entry.keys), None)
    if name is None:
        return None
    others = [line.mass_g for line in lines if line.name != name and line.group != "colour"]
    at_pour, at_pack = (1 + sum(mass_g > water_g for mass_g in others) for water_g in waters_g)
    if at_pour == at_pack:
        return None
    return (
        f"{name} stands number {at_pour} in the list by its mass at pour and number {at_pack} by"
        " what is left at pack"
    )


def _notes(
    form: _Form,
    lines: tuple[Line, ...],
    entries: Mapping[str, _Entry],
    actual: ActualMasses,
    composition: Composition,
    found: tuple[AllergenAmount, ...],
) -> tuple[str, ...]:
    notes = [
        "listed as weighed into the pot; one way for the whole list"
        if form.convention == "poured"
        else "listed as in the bar at pack: soaps, glycerin, fat left over, water left"
    ]
    moved = _water_note(lines, entries, (actual.water_g, composition.water_g))
    if moved:
        notes.append(moved)
    later = [one for one in found if one.exceeds and not one.due and one.due_from is not None]
    if later:
        first = min(one.due_from for one in later if one.due_from is not None)
        names = ", ".join(one.allergen.name for one in later)
        notes.append(f"to be named too on bars placed from {first.isoformat()}: {names}")
    unmeasured = [name for name, entry in entries.items() if not entry.measured]
    if unmeasured:
        notes.append(f"not weighed, so listed last: {', '.join(unmeasured)}")
    return tuple(notes)


def declare(
    actual: ActualMasses,
    composition: Composition,
    recipe: Recipe,
    *,
    market: str,
    convention: str | None = None,
    style: str | None = None,
    on: date | None = None,
    scent: str | None = None,
    certificates: Certificates = MappingProxyType({}),
    language: str = "en",
) -> Declaration:
    """The ingredient declaration of a batch.

    Args:
        actual: masses weighed into the pot, by lot; lots of one ingredient are merged.
        composition: the bar at pack (water as left then); the basis of allergen percentages.
        recipe: names and colours of its additions, and those put in unmeasured.
        market: market key; gives the defaults, the order rule and the allergen duty.
        convention: `poured` or `finished`; None takes the market's.
        style: `eu`, `us` or `plain` names; None takes the market's.
        on: day the label is for; None takes today's list whole (every allergen as due).
        scent: `named` lists each essential oil, `grouped` prints Parfum or Fragrance.
        certificates: suppliers' allergen percentages by scent key.
        language: of the heading, where the market leaves it free.

    Raises:
        BadInput: unknown market, convention or scent.
        NotFound: an ingredient without a label name.
        RuleBroken: names the market does not take, or an allergen that cannot be judged.
        NoRuleInForce: the market is not covered on that day.
    """
    place = get_market(market) if on is None else market_on(market, on)
    form = _form(place, convention, style, scent)
    entries = _gather(actual, composition, recipe, form)
    if not entries:
        raise BadInput("there is nothing to declare: every mass is zero")
    scents_g: dict[str, float] = {}
    for part in actual.additions:
        if _is_scent(part.key):
            scents_g[part.key] = scents_g.get(part.key, 0.0) + part.mass_g
    found = allergens_in(
        scents_g, composition.total_g, market=market, on=on, certificates=certificates
    )
    _add_allergens(entries, found)
    lines = _lines(entries, place)
    rule = find_rule(market, "order", on or place.as_of)
    heading = words_of(language)["ingredients" if place.ingredients_required else "ingredients_own"]
    return Declaration(
        convention=form.convention,
        names=form.style,
        lines=lines,
        text=f"{heading}: {', '.join(line.name for line in lines)}",
        notes=_notes(form, lines, entries, actual, composition, found),
        rule="" if rule is None else rule.citation,
        confidence="" if rule is None else rule.confidence,
        allergens=found,
    )
