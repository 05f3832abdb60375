"""Which colours of a bar a market allows, where it has a list of those that may be used.

A plant powder or charcoal may be in the bar for another purpose than to colour; whether it is, only
the maker knows, so a colour that is not on the list is told and not refused.
Sources: Regulation (EC) No 1223/2009 Art. 14(1)(c) and Annex IV; 21 USC 361(e), 21 CFR 70.3(f)-(g),
73 and 74 subpart C. Data: tables/law/colours.toml.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from soapstock.labelling.law import Market
from soapstock.labelling.names import Material, all_materials, find_material
from soapstock.tables import read_toml

TABLE = "law/colours.toml"


@dataclass(frozen=True, slots=True, kw_only=True)
class Tinted:
    """Something that colours the bar: its name on the list and its key.

    `meant`: to colour is what it is there for, by the recipe or our list of materials.
    """

    name: str
    key: str
    meant: bool


def _same(one: str, other: str) -> bool:
    return one.lower().split() == other.lower().split()


def colour_section(tinted: Tinted, list_key: str) -> str | None:
    """Where a market's list allows the colour, or None when it is not on the list."""
    table: Mapping[str, Any] = read_toml(TABLE)[list_key]
    if table.get("colour_index"):
        material = find_material(tinted.key)
        listed = tinted.name.startswith("CI ") or (material is not None and _has_number(material))
        return str(table["citation"]) if listed else None
    for row in table["allowed"]:
        names = _same(row["name"], tinted.name)
        if names or tinted.key in row.get("keys", ()):
            return str(row["section"])
    return None


def _has_number(material: Material) -> bool:
    return material.colour_index or bool(material.as_colour)


@dataclass(frozen=True, slots=True, kw_only=True)
class Allowed:
    """A colour that a market allows: its name, where it is listed, and how we know it."""

    name: str
    listed: str
    citation: str
    confidence: str


def allowed_colours(market: Market) -> tuple[Allowed, ...]:
    """The colours of a market's list by name; of a list by number those that we know.

    Empty where the market has no list.
    """
    if not market.colour_list:
        return ()
    table: Mapping[str, Any] = read_toml(TABLE)[market.colour_list]
    known = {"citation": str(table["citation"]), "confidence": str(table["confidence"])}
    if table.get("colour_index"):
        numbered = [one for one in all_materials().values() if _has_number(one)]
        return tuple(
            Allowed(name=one.plain, listed=one.as_colour or one.eu, **known) for one in numbered
        )
    return tuple(
        Allowed(
            name=row["name"],
            listed=row["section"],
            **(known | {"confidence": row.get("confidence", known["confidence"])}),
        )
        for row in table["allowed"]
    )


def colour_notes(found: Iterable[Tinted], market: Market) -> list[str]:
    """What to tell the maker of the bar's colours; empty where the market has no list."""
    if not market.colour_list:
        return []
    table = read_toml(TABLE)[market.colour_list]
    unlisted = [one for one in found if colour_section(one, market.colour_list) is None]
    notes = []
    meant = ", ".join(one.name for one in unlisted if one.meant)
    if meant:
        notes.append(
            f"not on {table['title']}: {meant}; nothing else may be used to colour"
            f" ({table['citation']}). Leave it out, take a listed colour, or be able to show what"
            " else it is there for"
        )
    beside = ", ".join(one.name for one in unlisted if not one.meant)
    if beside:
        notes.append(
            f"{beside} colours the bar and is not on {table['title']}: it may be there only for"
            f" another purpose, such as to scrub ({table['citation']})"
        )
    return notes
