"""Fragrance allergens: summed over all sources, on the cured bar's mass, against the threshold.

Rules (tables/law/allergens.toml): the duty starts when the concentration EXCEEDS 0.01 % of a
rinse-off product; group entries sum their members; an essential oil that is itself an entry counts
at its whole mass. Constituent figures are the upper ends of published ranges unless a supplier's
certificate is given, so that no name is missed.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from difflib import get_close_matches
from functools import cache
from types import MappingProxyType
from typing import Any

from soapstock.errors import BadInput, BadTable, Mend, RuleBroken
from soapstock.labelling.law import get_market
from soapstock.labelling.names import find_material
from soapstock.recipes.limits import legal_limits, purity_notes
from soapstock.tables import read_csv, read_toml

COLUMNS = ("number", "name", "cas", "status", "members", "confidence")
WHOLE_PERCENT = 100
_ROUND = 9  # decimals of a percentage before it is compared: binary noise must not cross a limit
Certificates = Mapping[str, Mapping[str, Decimal]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Allergen:
    """One entry of the list: number in Annex III, the name to print, CAS numbers, status."""

    number: int
    name: str
    cas: tuple[str, ...]
    status: str
    members: str
    confidence: str


@dataclass(frozen=True, slots=True, kw_only=True)
class AllergenAmount:
    """One listed allergen found in a bar.

    Attributes:
        allergen: the entry.
        mass_g: its mass in the batch, g.
        percent: of the cured bar, %.
        exceeds: above the threshold.
        due: above the threshold and to be named on that day.
        due_from: first day on which it has to be named, or None (never in this market).
        stock_until: last day on which goods placed before due_from may still be sold, or None.
        sources: keys of the scents that bring it.
        citation, confidence: of the duty.
    """

    allergen: Allergen
    mass_g: float
    percent: float
    exceeds: bool
    due: bool
    due_from: date | None
    stock_until: date | None
    sources: tuple[str, ...]
    citation: str
    confidence: str


@cache
def all_allergens() -> Mapping[str, Allergen]:
    """The 81 entries with a labelling duty, by name, in the order of Annex III."""
    found = {}
    for row in read_csv("law/allergens.csv", COLUMNS):
        if row["status"] not in ("old", "duty-added", "new"):
            raise BadTable(f"tables/law/allergens.csv: {row['name']}: status '{row['status']}'")
        found[row["name"]] = Allergen(
            number=int(row["number"]),
            name=row["name"],
            cas=tuple(row["cas"].split(";")),
            status=row["status"],
            members=row["members"],
            confidence=row["confidence"],
        )
    return MappingProxyType(found)


def find_allergen(text: str) -> str:
    """The name of a listed (or banned) allergen written in any case, or by a CAS number.

    Raises:
        BadInput: neither; near names in the hint.
    """
    wanted = " ".join(text.split()).lower()
    banned: list[str] = [row["name"] for row in read_toml("law/allergens.toml")["banned"]]
    names = {name.lower(): name for name in (*all_allergens(), *banned)}
    if wanted in names:
        return names[wanted]
    by_cas = [one.name for one in all_allergens().values() if wanted in one.cas]
    if len(by_cas) == 1:
        return by_cas[0]
    near = [names[one] for one in get_close_matches(wanted, names, n=3, cutoff=0.6)]
    raise BadInput(
        f"'{text}' is not on the allergen list",
        hint=f"did you mean {', '.join(near)}?" if near else "",
        mend=None if near else Mend("list_allergens"),
    )


def threshold_percent() -> Decimal:
    """The share of the product, %, above which an allergen is named."""
    table = read_toml("law/allergens.toml")["threshold"]
    return Decimal(table["rinse_off_percent"])


def _duty(market: str, status: str) -> dict[str, Any] | None:
    found = read_toml("law/allergens.toml").get(market, {}).get(status)
    return found if found is None else dict(found)


def due_allergens(market: str, on: date) -> tuple[tuple[Allergen, date, str], ...]:
    """Allergens that a market wants named on a day, with their first day and the citation."""
    found = []
    for allergen in all_allergens().values():
        duty = _duty(market, allergen.status)
        if duty is not None and on >= duty["placed_from"]:
            found.append((allergen, duty["placed_from"], duty["citation"]))
    return tuple(found)


def _contents(key: str, certificates: Certificates) -> Mapping[str, Decimal] | None:
    """Most of each allergen in a scent, % of it; None when nobody knows."""
    material = find_material(key)
    if key in certificates:
        given = dict(certificates[key])
        if material is not None and material.allergen_entry:
            given.setdefault(material.allergen_entry, Decimal(100))
        return given
    if material is None or not material.composition_known:
        return None
    found = dict(material.allergen_percent)
    if material.allergen_entry:
        found[material.allergen_entry] = Decimal(100)
    return found


def _sum_up(
    scents_g: Mapping[str, float], certificates: Certificates
) -> tuple[dict[str, float], dict[str, list[str]], list[str]]:
    masses: dict[str, float] = {}
    sources: dict[str, list[str]] = {}
    unknown = []
    for key, mass_g in scents_g.items():
        contents = _contents(key, certificates)
        if contents is None:
            unknown.append(key)
            continue
        for stated, percent in contents.items():
            name = find_allergen(stated)
            if not 0 <= percent <= WHOLE_PERCENT:
                raise BadInput(f"{name} in {key}: {percent} % is not 0 to 100")
            masses[name] = masses.get(name, 0.0) + mass_g * float(percent) / 100.0
            sources.setdefault(name, []).append(key)
    return masses, sources, unknown


def _refuse_banned(market: str, names: Mapping[str, float], on: date | None) -> None:
    for row in read_toml("law/allergens.toml")["banned"]:
        if names.get(row["name"], 0.0) <= 0.0:
            continue
        for law in row["laws"]:
            if law["market"] == market and (on is None or law["from"] <= on):
                raise RuleBroken(
                    f"a scent holds {row['name']}, which is banned in market '{market}'"
                    f" ({law['citation']})",
                    hint="use another scent",
                )


def _refuse_over_limit(
    market: str, masses: Mapping[str, float], cured_g: float, on: date | None
) -> None:
    for limit in legal_limits(market, on):
        percent = round(100.0 * masses.get(limit.allergen, 0.0) / cured_g, _ROUND)
        if percent > limit.most_percent:
            raise RuleBroken(
                f"{limit.allergen} may reach {percent:.3g} % of the bar; the limit is"
                f" {limit.most_percent:g} % ({limit.citation})",
                hint="use less of the scent that holds it",
            )


def _refuse_unknown_scents(
    market: str, scents_g: Mapping[str, float], unknown: list[str], cured_g: float, limit: float
) -> None:
    for key in unknown:
        if round(100.0 * scents_g[key] / cured_g, _ROUND) > limit:
            raise RuleBroken(
                f"the allergens in scent '{key}' are not known, and market '{market}'"
                " wants them named",
                hint="give the supplier's allergen percentages for it",
            )


def allergens_in(
    scents_g: Mapping[str, float],
    cured_g: float,
    *,
    market: str,
    on: date | None = None,
    certificates: Certificates = MappingProxyType({}),
) -> tuple[AllergenAmount, ...]:
    """Every listed allergen in a batch, largest share first.

    Args:
        scents_g: mass of each scent in the batch, g, by material key.
        cured_g: mass of the batch in the bars, g: the basis of every percentage. Its dry matter is
            the careful one: a bar's scent grows stronger while water leaves.
        market: market key; markets without the duty give nothing due.
        on: day the goods are placed on the market; None takes every entry as due.
        certificates: % of each allergen by scent key, from the supplier; beats the tables.

    Raises:
        BadInput: no cured mass, or a certificate naming no listed allergen or no percentage.
        RuleBroken: a banned substance, one above its limit, or a scent of unknown composition
            in a market that wants allergens named.
    """
    if not 0.0 < cured_g < float("inf"):
        raise BadInput(f"cured mass {cured_g:g} g is not above zero")
    masses, sources, unknown = _sum_up(scents_g, certificates)
    _refuse_banned(market, masses, on)
    _refuse_over_limit(market, masses, cured_g, on)
    limit = float(threshold_percent())
    if get_market(market).allergens:
        _refuse_unknown_scents(market, scents_g, unknown, cured_g, limit)
    found = []
    for name, mass_g in masses.items():
        allergen = all_allergens().get(name)
        if allergen is None:  # one of the banned two, in a market that does not ban it
            continue
        found.append(_amount(allergen, mass_g, cured_g, limit, market, on, tuple(sources[name])))
    return tuple(sorted(found, key=lambda one: (-one.percent, one.allergen.number)))


def conditions_on(
    found: tuple[AllergenAmount, ...], market: str, on: date | None, keys: Collection[str] = ()
) -> tuple[str, ...]:
    """What the market asks of the scents besides naming: limits, users, purity; plain sentences.

    Args:
        found: allergens in the bar; keys: everything in it, by key.
        on: day of the label; None takes every rule.
    """
    present = [one.allergen.name for one in found if one.mass_g > 0.0]
    said = [
        f"{limit.allergen}: at most {limit.most_percent:g} % of the bar in {limit.scope}"
        f" ({limit.citation})"
        for limit in legal_limits(market, on)
        if limit.allergen in present
    ]
    return (*said, *purity_notes(keys, market, present))


def _amount(
    allergen: Allergen,
    mass_g: float,
    cured_g: float,
    limit: float,
    market: str,
    on: date | None,
    sources: tuple[str, ...],
) -> AllergenAmount:
    percent = round(100.0 * mass_g / cured_g, _ROUND)
    exceeds = percent > limit
    duty = _duty(market, allergen.status)
    in_force = duty is not None and (on is None or on >= duty["placed_from"])
    return AllergenAmount(
        allergen=allergen,
        mass_g=mass_g,
        percent=percent,
        exceeds=exceeds,
        due=exceeds and in_force,
        due_from=None if duty is None else duty["placed_from"],
        stock_until=None if duty is None else duty.get("stock_until"),
        sources=sources,
        citation="" if duty is None else duty["citation"],
        confidence="" if duty is None else duty["confidence"],
    )
