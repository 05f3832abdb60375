"""How much of a recipe to make, from what a person said."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING

from soapstock.errors import BadInput, Mend
from soapstock.recipes.scaling import Target
from soapstock.units import parse_mass_g, parse_volume_ml

if TYPE_CHECKING:
    from soapstock.recipes.recipe import Recipe
    from soapstock.recipes.scaling import Target

MOST_BARS = 100_000


def as_written(recipe: Recipe) -> Target:
    """The target that scales a recipe to itself: its fats as written, or one kilogram of fat."""
    masses = [fat.mass_g for fat in recipe.fats if fat.mass_g is not None]
    total = sum(masses, Decimal(0)) if len(masses) == len(recipe.fats) else Decimal(1000)
    return Target(total_fat_g=total)


def parse_have(text: str) -> tuple[str, Decimal]:
    """`tallow=1320g` as the ingredient and its grams. Raises BadInput."""
    name, equals, mass = text.partition("=")
    if not equals or not name.strip():
        raise BadInput(f"'{text}' at hand is not understood", hint="write it like tallow=1320g")
    return name.strip(), parse_mass_g(mass, f"{name.strip()} at hand")


def make_target(
    *, have: str | None, fat: str | None, bars: int | None, volume: str | None
) -> Target:
    """The one target asked for. Raises BadInput if there is none or more than one."""
    asked = {"a mass at hand": have, "a total fat": fat, "bars": bars, "a mould volume": volume}
    given = [name for name, value in asked.items() if value is not None]
    if len(given) != 1:
        what = f"{' and '.join(given)} together" if given else "nothing to scale to"
        raise BadInput(what, mend=Mend("choose_target"))
    if bars is not None and not 1 <= bars <= MOST_BARS:
        raise BadInput(f"{bars} is not a count of bars", hint="give 1 or more")
    return Target(
        have=parse_have(have) if have is not None else None,
        total_fat_g=parse_mass_g(fat, "total fat") if fat is not None else None,
        bars=bars,
        mould_volume_ml=parse_volume_ml(volume, "mould volume") if volume is not None else None,
    )
