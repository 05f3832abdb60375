"""Limits on additions: the supplier's own, and those of a market's law, with the citation."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from soapstock.recipes.recipe import Recipe
from soapstock.tables import read_toml

TABLE = "limits/additions.toml"


@dataclass(frozen=True, slots=True, kw_only=True)
class OverLimit:
    """One limit passed.

    Attributes:
        what: the substance or addition; `percent` of the bar's dry matter found, `most_percent`
            allowed, by `citation`.
        binding: whether it refuses the batch (law of the market, or the supplier's own limit).
    """

    what: str
    percent: float
    most_percent: float
    scope: str
    citation: str
    binding: bool

    def sentence(self) -> str:
        """In plain words."""
        law = "" if self.binding else " (not the law of this market, but a warning)"
        scope = f" for {self.scope}" if self.scope else ""
        return (
            f"{self.what}: {self.percent:.3g} % of the dry bar, at most {self.most_percent:g} %"
            f"{scope}, by {self.citation}{law}"
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class LegalLimit:
    """Most of a substance that a market's law allows in the bar, % by mass.

    `allergen` is its name on the list of fragrance allergens.
    """

    allergen: str
    most_percent: float
    scope: str
    citation: str


def legal_limits(market: str, on: date | None) -> tuple[LegalLimit, ...]:
    """The limits that are law in a market on a day; None takes every one it has."""
    return tuple(
        LegalLimit(
            allergen=limit["allergen"],
            most_percent=float(limit["most_percent"]),
            scope=law["scope"],
            citation=law["citation"],
        )
        for limit in read_toml(TABLE)["limits"]
        for law in limit["laws"]
        if law["market"] == market and (on is None or law["from"] <= on)
    )


def over_limits(
    recipe: Recipe, additions_g: Mapping[str, float], dry_g: float, market: str | None
) -> tuple[OverLimit, ...]:
    """Every limit that these additions pass.

    The share is taken of the bar's dry matter, the careful side: a drying bar grows stronger. A law
    counts whatever its first day: a bar poured now is sold later.

    Args:
        recipe: its additions may state a supplier's `limit_percent`.
        additions_g: measured additions by key, g.
        dry_g: everything but water, g.
        market: the shop's market; None counts every law.
    """
    if dry_g <= 0.0:
        return ()
    found = list(_supplier_limits(recipe, additions_g, dry_g))
    table = read_toml(TABLE)
    for limit in table["limits"]:
        mass_g = sum(
            additions_g.get(row["ingredient"], 0.0) * float(row["most_percent"]) / 100.0
            for row in table["contains"]
            if row["substance"] == limit["substance"]
        )
        percent = 100.0 * mass_g / dry_g
        if percent > float(limit["most_percent"]):
            found.append(_over(limit, percent, market))
    return tuple(found)


def _over(limit: Mapping[str, Any], percent: float, market: str | None) -> OverLimit:
    own = [law for law in limit["laws"] if law["market"] == market]
    law = (own or limit["laws"])[0]
    return OverLimit(
        what=str(limit["name"]),
        percent=percent,
        most_percent=float(limit["most_percent"]),
        scope=str(law["scope"]),
        citation=str(law["citation"]),
        binding=market is None or bool(own),
    )


def _supplier_limits(
    recipe: Recipe, additions_g: Mapping[str, float], dry_g: float
) -> Sequence[OverLimit]:
    found = []
    for addition in recipe.additions:
        percent = 100.0 * additions_g.get(addition.ingredient, 0.0) / dry_g
        if addition.limit_percent is not None and percent > addition.limit_percent:
            found.append(
                OverLimit(
                    what=addition.label_name or addition.ingredient,
                    percent=percent,
                    most_percent=addition.limit_percent,
                    scope="",
                    citation=addition.limit_source or "the supplier's certificate",
                    binding=True,
                )
            )
    return found


def purity_notes(
    ingredients: Collection[str], market: str | None, allergens: Collection[str] = ()
) -> tuple[str, ...]:
    """What to ask the supplier's certificate for, or to look up, where the market asks for it.

    Args:
        ingredients: keys of what is in the bar; fats count too.
        market: None takes every market's.
        allergens: names of listed allergens that its scents may hold.
    """
    found = []
    for row in read_toml(TABLE)["ask"]:
        if market is not None and market not in row["markets"]:
            continue
        named = [one for one in ingredients if one in row["ingredients"]]
        named = named or [one for one in allergens if one in row["allergens"]]
        if named:
            found.append(f"{', '.join(named)}: {row['says']}, by {row['citation']}")
    return tuple(found)
