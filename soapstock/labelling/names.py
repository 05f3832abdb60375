"""What each ingredient is called on a label: European (INCI), United States, or plain English.

Fats and their soaps are named by chemistry's table of fats; everything else by tables/names.
Sources: see the tables. INCI names are never translated.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from difflib import get_close_matches
from functools import cache
from types import MappingProxyType
from typing import Any, Literal

from soapstock.chemistry.fats import Fat, all_fats
from soapstock.errors import BadInput, BadTable, Mend, NotFound
from soapstock.tables import read_toml

Metal = Literal["sodium", "potassium"]
Role = Literal["liquid", "alkali", "colour", "scent", "other"]
STYLES = ("eu", "us", "plain")


@dataclass(frozen=True, slots=True, kw_only=True)
class Material:
    """One ingredient that is not a fat.

    Attributes:
        key: hyphened key; `aliases` are other keys for it.
        eu, us, plain: its names in the three styles.
        cas: CAS number, or empty.
        role: what it does; colours stand last on a list, scents may be grouped as Parfum.
        colour_index: its eu name is a CI number of Annex IV; as_colour: the CI number it has when
            it is there to colour, or empty.
        tints: it colours the bar, whatever it is there for.
        allergen_entry: the listed allergen that the whole material is counted as, or empty.
        allergen_percent: most of each listed allergen it holds, % of the material.
        composition_known: False for a scent whose allergens only the supplier can tell.
        confidence: how we know the names (and the ranges).
    """

    key: str
    aliases: tuple[str, ...] = ()
    eu: str
    us: str
    plain: str
    cas: str = ""
    role: Role = "other"
    colour_index: bool = False
    as_colour: str = ""
    tints: bool = False
    allergen_entry: str = ""
    allergen_percent: Mapping[str, Decimal] = field(default_factory=dict)
    composition_known: bool = True
    confidence: str = "read"


def _material(key: str, row: dict[str, Any], default_confidence: str, *, oil: bool) -> Material:
    percent = {name: Decimal(value) for name, value in row.get("percent", {}).items()}
    role: Role = "scent" if oil else row["role"]
    return Material(
        key=key,
        aliases=tuple(row["aliases"]),
        eu=row["eu"],
        us=row["us"],
        plain=row["plain"],
        cas=row.get("cas", ""),
        role=role,
        colour_index=row.get("colour_index", False),
        as_colour=row.get("as_colour", ""),
        tints=row.get("tints", False) or role == "colour",
        allergen_entry=row.get("entry", ""),
        allergen_percent=MappingProxyType(percent),
        composition_known=oil or role != "scent",
        confidence=row.get("confidence", default_confidence),
    )


@cache
def all_materials() -> Mapping[str, Material]:
    """Every material by key. Raises BadTable when two share a key or alias."""
    materials = read_toml("names/materials.toml")
    scents = read_toml("names/scents.toml")
    found = {
        key: _material(key, row, materials["confidence"], oil=False)
        for key, row in materials["materials"].items()
    }
    for key, row in scents["oils"].items():
        if key in found:
            raise BadTable(f"tables/names: '{key}' stands in two files")
        found[key] = _material(key, row, scents["confidence"], oil=True)
    return MappingProxyType(found)


@cache
def _by_alias() -> Mapping[str, Material]:
    index: dict[str, Material] = {}
    for material in all_materials().values():
        for name in (material.key, *material.aliases):
            if name in index:
                raise BadTable(f"tables/names: '{name}' names two materials")
            index[name] = material
    return MappingProxyType(index)


def find_material(key: str) -> Material | None:
    """The material of that key or alias, or None."""
    return _by_alias().get(key.strip().lower().replace(" ", "-").replace("_", "-"))


def find_fat(key: str) -> Fat | None:
    """The fat of that key, or None."""
    return all_fats().get(key)


def _refuse_unknown(key: str) -> NotFound:
    near = get_close_matches(key, list(_by_alias()), n=3, cutoff=0.6)
    return NotFound(
        f"no label name is known for '{key}'",
        hint=(f"did you mean {', '.join(near)}? else " if near else "")
        + "give the addition a label_name in the recipe",
    )


def label_case(name: str) -> str:
    """A name in words' case: an all-capitals glossary name becomes title case, CI numbers stay.

    >>> label_case("OLEA EUROPAEA FRUIT OIL")
    'Olea Europaea Fruit Oil'
    """
    if not name.isupper() or name.startswith("CI "):
        return name
    return " ".join("/".join(p.capitalize() for p in word.split("/")) for word in name.split())


def _fat_name(fat: Fat, style: str, as_salt: Metal | None) -> str:
    if as_salt is None:
        name = {"eu": fat.inci, "us": fat.inci_us, "plain": fat.common_name}[style]
        return label_case(name)
    if style == "plain":
        return f"Saponified {fat.common_name[:1].lower()}{fat.common_name[1:]}"
    salt = fat.sodium_salt if as_salt == "sodium" else fat.potassium_salt
    if not salt:
        raise NotFound(
            f"no listed name is known for the {as_salt} soap of {fat.common_name}",
            hint="list what you poured instead",
            mend=Mend("name_as_poured"),
        )
    return label_case(salt)


def name_of(key: str, *, style: str, as_salt: Metal | None = None) -> str:
    """The label name of an ingredient.

    Args:
        key: fat or material key, or a material's alias.
        style: `eu` (INCI glossary), `us`, or `plain` English.
        as_salt: name the soap that this fat forms with that metal instead of the fat; in plain
            English that is "Saponified ...", whichever the metal.

    Raises:
        BadInput: unknown style, or a salt of something that is no fat.
        NotFound: unknown key (near ones in the hint), or a soap without a listed name.
    """
    if style not in STYLES:
        raise BadInput(f"name style '{style}' is unknown", hint=f"one of {', '.join(STYLES)}")
    fat = find_fat(key)
    if fat is not None:
        return _fat_name(fat, style, as_salt)
    material = find_material(key)
    if as_salt is not None:
        raise BadInput(f"'{key}' is no fat, so it forms no soap")
    if material is None:
        raise _refuse_unknown(key)
    return {"eu": material.eu, "us": material.us, "plain": material.plain}[style]
