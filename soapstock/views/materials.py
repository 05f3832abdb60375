"""All ingredients that are known by name: what may be typed, and what the label calls it."""

from __future__ import annotations

from dataclasses import dataclass

from soapstock.chemistry.fats import all_fats
from soapstock.desk.ingredients import canonical
from soapstock.labelling.names import all_materials, name_of


@dataclass(frozen=True, slots=True, kw_only=True)
class MaterialRow:
    """An ingredient: the name to type, others that serve as well, what it is, its label names."""

    name: str
    also: tuple[str, ...]
    kind: str
    plain: str
    inci: str


def materials(word: str = "") -> list[MaterialRow]:
    """Fats, alkalis, additions and scents, those with a word in any of their names."""
    rows = [
        MaterialRow(
            name=key,
            also=(),
            kind="fat",
            plain=fat.trade_name,
            inci=name_of(key, style="eu"),
        )
        for key, fat in all_fats().items()
    ]
    rows += [
        MaterialRow(
            name=(name := canonical(one.key)),
            also=tuple(other for other in (one.key, *one.aliases) if other != name),
            kind=one.role,
            plain=one.plain,
            inci=one.eu,
        )
        for one in all_materials().values()
    ]
    wanted = word.strip().lower()
    return sorted(
        (r for r in rows if wanted in " ".join((r.name, *r.also, r.kind, r.plain, r.inci)).lower()),
        key=lambda row: row.name,
    )
