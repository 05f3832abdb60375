"""The ingredient declaration: what is listed, under which name, in which order.

Two conventions, one for the whole list: `poured` lists fats, hydroxide and water as they were
weighed into the pot; `finished` lists what they make: soaps, glycerin, the fat that no lye was left
for, and the water poured. No law text settles which (rule `convention` of a market).
Order: 21 CFR 701.3(f), Regulation (EC) No 1223/2009 Art. 19(1)(g), C.R.C. c. 869 s. 21.4.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from types import MappingProxyType
from typing import Literal

from soapstock.chemistry.composition import Composition
from soapstock.errors import BadInput
from soapstock.labelling.allergens import (
    AllergenAmount,
    Certificates,
    allergens_in,
    conditions_on,
)
from soapstock.labelling.colours import Tinted, colour_notes
from soapstock.labelling.gather import Entry, Form, gather, make_form, scents_of, smells
from soapstock.labelling.law import Market, find_rule, get_market, market_on
from soapstock.labelling.names import find_fat, find_material
from soapstock.labelling.words import label_language, words_of
from soapstock.recipes.pour import ActualMasses
from soapstock.recipes.recipe import Recipe

Group = Literal["main", "small", "colour"]
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


def _add_allergens(entries: dict[str, Entry], found: tuple[AllergenAmount, ...]) -> None:
    for amount in found:
        if not amount.due or amount.allergen.name in entries:
            continue
        entries[amount.allergen.name] = Entry(
            mass_g=amount.mass_g, measured=True, allergen=True, keys={amount.allergen.name}
        )


def _group(entry: Entry, share_percent: float, market: Market) -> Group:
    if entry.colour:
        return "colour"
    if market.small == "none" or market.small_percent is None:
        return "main" if entry.measured else "small"
    limit, share = float(market.small_percent), round(share_percent, _ROUND)
    small = share <= limit if market.small == "not-exceeding" else share < limit
    return "small" if small else "main"


def _lines(entries: Mapping[str, Entry], market: Market) -> tuple[Line, ...]:
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


def _notes(
    form: Form,
    entries: Mapping[str, Entry],
    actual: ActualMasses,
    found: tuple[AllergenAmount, ...],
    on: date | None,
) -> list[str]:
    notes = []
    later = [one for one in found if one.exceeds and not one.due and one.due_from is not None]
    if later:
        first = min(one.due_from for one in later if one.due_from is not None)
        names = ", ".join(one.allergen.name for one in later)
        ends = [one.stock_until for one in later if one.stock_until is not None]
        until = f" (those placed before may be sold to {min(ends).isoformat()})" if ends else ""
        notes.append(f"to be named too on bars placed from {first.isoformat()}{until}: {names}")
    unmeasured = [name for name, entry in entries.items() if not entry.measured]
    if unmeasured:
        notes.append(f"not weighed, so listed last: {', '.join(unmeasured)}")
    untold = [one.allergen.name for one in found if one.exceeds and one.due_from is None]
    if untold and form.market.allergens:
        notes.append(
            f"above the threshold, but not on the list that market '{form.market.key}' had when"
            f" read: {', '.join(untold)}; check whether it was widened"
        )
    scents = [part.key for part in actual.additions if smells(part.key)]
    if scents and form.market.default_scent == "grouped" and not form.grouped_scents:
        notes.append(
            f"named one by one: {', '.join(scents)}; market '{form.market.key}' calls what is there"
            " to scent Parfum, and an oil by its own name only where it is there for more"
        )
    strange = [part.key for part in actual.additions if _is_strange(part.key)]
    if strange and form.market.allergens:
        notes.append(
            f"not in our list, so no allergen of it is judged: {', '.join(strange)};"
            " if it smells, give its supplier's allergen figures"
        )
    keys = [*(fat.fat for fat in actual.fats), *(part.key for part in actual.additions)]
    return [*notes, *conditions_on(found, form.market.key, on, keys)]


def _tinted(entries: Mapping[str, Entry]) -> list[Tinted]:
    """What colours the bar, by the names listed."""
    found = []
    for name, entry in entries.items():
        key = next((one for one in sorted(entry.keys) if _tints(one)), "")
        if entry.colour or key:
            key = key or next(iter(sorted(entry.keys)))
            found.append(Tinted(name=name, key=key, meant=entry.colour))
    return found


def _tints(key: str) -> bool:
    material = find_material(key)
    return material is not None and material.tints


def _is_strange(key: str) -> bool:
    return find_material(key) is None and find_fat(key) is None


def _basis(form: Form, poured_on: date | None) -> str:
    """Says which masses were put in order, and of which day."""
    when = f" on {poured_on.isoformat()}" if poured_on is not None else ""
    if form.convention == "poured":
        return f"listed by weight as poured{when}; one way for the whole list"
    return (
        f"listed by weight as added{when}, as soaps, glycerin, fat that no lye was left for, and"
        " the water poured: the list stays the same while the bars dry"
    )


def _text(lines: tuple[Line, ...], market: Market, language: str) -> str:
    """The list as printed, under the heading that the market asks for."""
    words = words_of(label_language(market.languages, language))
    heading = words["ingredients" if market.ingredients_required else "ingredients_own"]
    return f"{heading}: {', '.join(line.name for line in lines)}"


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
    poured_on: date | None = None,
) -> Declaration:
    """The ingredient declaration of a batch.

    Args:
        actual: masses weighed into the pot, by lot; lots of one ingredient are merged.
        composition: the bar; allergens count on its dry matter, the strongest it can grow.
        recipe: names and colours of its additions, and those put in unmeasured.
        market: market key; gives the defaults, the order rule and the allergen duty.
        convention: `poured` or `finished`; None takes the market's.
        style: `eu`, `us` or `plain` names; None takes the market's.
        on: day the label is for; None takes today's list whole (every allergen as due).
        scent: `named` lists each essential oil, `grouped` prints Parfum or Fragrance.
        certificates: suppliers' allergen percentages by scent key.
        language: of the heading, where the market leaves it free.
        poured_on: day of the masses, said in the notes.

    Raises:
        BadInput: unknown market, convention or scent.
        NotFound: an ingredient without a label name.
        RuleBroken: names the market does not take, or an allergen that cannot be judged.
        NoRuleInForce: the market is not covered on that day.
    """
    place = get_market(market) if on is None else market_on(market, on)
    form = make_form(place, convention=convention, style=style, scent=scent)
    entries = gather(actual, composition, recipe, form)
    if not entries:
        raise BadInput("there is nothing to declare: every mass is zero")
    scents = scents_of(actual, recipe, certificates)
    found = allergens_in(scents, composition.dry_g, market=market, on=on, certificates=certificates)
    _add_allergens(entries, found)
    lines = _lines(entries, place)
    rule = find_rule(market, "order", on or place.as_of)
    return Declaration(
        convention=form.convention,
        names=form.style,
        lines=lines,
        text=_text(lines, place, language),
        notes=(
            *colour_notes(_tinted(entries), place),
            _basis(form, poured_on),
            *_notes(form, entries, actual, found, on),
        ),
        rule="" if rule is None else rule.citation,
        confidence="" if rule is None else rule.confidence,
        allergens=found,
    )
