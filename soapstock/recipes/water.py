"""How much water a recipe asks: one line in words, such as `2 per lye`."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal

from soapstock.errors import BadInput

WaterKind = Literal["per_lye", "solution_percent", "per_100_fats"]

_NUMBER = r"(\d+(?:\.\d+)?)"
# Each way: how it is written, the least and the most it may be, and an example.
_WAYS: dict[WaterKind, tuple[re.Pattern[str], float, float, str]] = {
    "per_lye": (re.compile(rf"{_NUMBER} per lye"), 0.5, 10.0, "2 per lye"),
    "solution_percent": (re.compile(rf"{_NUMBER} ?% solution"), 10.0, 66.0, "33 % solution"),
    "per_100_fats": (re.compile(rf"{_NUMBER} per 100 fats"), 5.0, 100.0, "28 per 100 fats"),
}
WATER_HINT = "write it as one of: " + ", ".join(f'"{example}"' for *_, example in _WAYS.values())


@dataclass(frozen=True, slots=True, kw_only=True)
class WaterRule:
    """How much water, all masses as weighed.

    Attributes:
        kind: `per_lye`: times the mass of the lye; `solution_percent`: the lye's share of the lye
            solution, %; `per_100_fats`: grams to 100 g of fats.
        value: the figure.
        liquids_count: the water inside liquids added to the lye (milk, beer) is part of it, and
            only the rest is weighed as plain water.
    """

    kind: WaterKind
    value: float
    liquids_count: bool = False

    def water_g(self, fat_g: float, alkali_g: float) -> float:
        """Water, g, for so much fat and so much lye as weighed, g."""
        if self.kind == "per_lye":
            return alkali_g * self.value
        if self.kind == "solution_percent":
            return alkali_g * (100.0 / self.value - 1.0)
        return fat_g * self.value / 100.0


def parse_water(text: str, *, liquids_count: bool = False) -> WaterRule:
    """The rule of a line such as `2 per lye`, `33 % solution` or `28 per 100 fats`.

    Raises:
        BadInput: none of the three, or a figure no recipe has.

    >>> parse_water("33 % solution").water_g(1000.0, 140.0).__round__()
    284
    """
    words = " ".join(text.lower().split())
    for kind, (pattern, low, high, _) in _WAYS.items():
        found = pattern.fullmatch(words)
        if found is None:
            continue
        value = float(found[1])
        if not low <= value <= high:
            raise BadInput(f"'{text}': {value:g} is not between {low:g} and {high:g}")
        return WaterRule(kind=kind, value=value, liquids_count=liquids_count)
    raise BadInput(f"'{text}' is no amount of water", hint=WATER_HINT)
