"""Liquids in place of water: their water share, and what lye does to their sugars."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from soapstock.chemistry.interval import Interval
from soapstock.tables import read_toml


@dataclass(frozen=True, slots=True, kw_only=True)
class Liquid:
    """A liquid, % by mass; the rest is other solids. `cautions` are plain sentences.

    Attributes:
        fat: key of the fat that its fat takes lye like, or None when it holds next to none.
        fat_percent: fat in it, over what is sold under its name; nothing where `fat` is None.
    """

    key: str
    name: str
    water_percent: float
    fat: str | None
    fat_percent: Interval
    sugar_percent: float
    cautions: tuple[str, ...]

    def water_g(self, mass_g: float) -> float:
        """Water in this much of it, g."""
        return mass_g * self.water_percent / 100.0

    def fat_g(self, mass_g: float) -> float:
        """Usual fat in this much of it, g."""
        return mass_g * self.fat_percent.nominal / 100.0


@cache
def liquids() -> Mapping[str, Liquid]:
    """The liquids of the tables by key, such as `goat-milk`."""
    table = read_toml("chemistry/liquids.toml")
    found: dict[str, Liquid] = {}
    for key, row in table["liquids"].items():
        name = str(row["name"])
        low, usual, high = (float(x) for x in row.get("fat_percent", (0.0, 0.0, 0.0)))
        cautions = []
        if row["reducing"]:
            cautions.append(str(table["caution_reducing"]).format(name=name))
        if row.get("fizz", False):
            cautions.append(str(table["caution_fizz"]).format(name=name))
        found[key] = Liquid(
            key=key,
            name=name,
            water_percent=float(row["water_percent"]),
            fat=row.get("fat"),
            fat_percent=Interval(low=low, nominal=usual, high=high),
            sugar_percent=float(row["sugar_percent"]),
            cautions=tuple(cautions),
        )
    return found
