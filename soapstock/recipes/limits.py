"""Limits on additions: the supplier's own, and those of a market's law, with the citation."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from soapstock.recipes.recipe import Recipe
from soapstock.tables import read_toml


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


def over_limits(
    recipe: Recipe, additions_g: Mapping[str, float], dry_g: float, market: str | None
) -> tuple[OverLimit, ...]:
    """Every limit that these additions pass.

    The share is taken of the bar's dry matter, the careful side: a drying bar grows stronger.

    Args:
        recipe: its additions may state a supplier's `limit_percent`.
        additions_g: measured additions by key, g.
        dry_g: everything but water, g.
        market: the shop's market; None counts every law.
    """
    if dry_g <= 0.0:
        return ()
    found = list(_supplier_limits(recipe, additions_g, dry_g))
    table = read_toml("limits/additions.toml")
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
    return OverLimit(
        what=str(limit["name"]),
        percent=percent,
        most_percent=float(limit["most_percent"]),
        scope=str(limit["scope"]),
        citation=str(limit["citation"]),
        binding=market is None or market in limit["markets"],
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


def purity_notes(ingredients: Sequence[str], market: str | None) -> tuple[str, ...]:
    """What to ask the supplier's certificate for, where the market's law limits the material."""
    if market is not None and market not in {"eu", "uk"}:
        return ()
    return tuple(
        f"{name}: peroxide value under {row['most_mmol_l']} mmol/L on the supplier's certificate, "
        f"by {row['citation']}"
        for row in read_toml("limits/additions.toml")["peroxide"]
        for name in ingredients
        if name in row["ingredients"]
    )
