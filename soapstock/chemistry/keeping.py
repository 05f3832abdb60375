"""How the fat left in a bar keeps: a plain risk note, no invented threshold.

Polyunsaturated acids take up oxygen many times faster than oleic acid; published ratios differ by a
factor of four, and antioxidants and metals matter as much. No standard gives a limit for bar soap,
so none is used here: the figure is shown, and the maker decides.
"""

from __future__ import annotations

from dataclasses import dataclass

from soapstock.chemistry.composition import Composition
from soapstock.chemistry.liquids import liquids
from soapstock.chemistry.profiles import blend_fractions, polyunsaturated_fraction
from soapstock.tables import read_toml


@dataclass(frozen=True, slots=True, kw_only=True)
class Keeping:
    """What is known of how the fat left over keeps.

    Attributes:
        polyunsaturated_percent: share of the unsaponified fat's acids with two double bonds or
            more, %, or None when no profile is known.
        free_fat_percent: unsaponified fat, % of the bar.
        covered_percent: how much of that fat the profiles cover, %.
        note: one or two plain sentences.
    """

    polyunsaturated_percent: float | None
    free_fat_percent: float
    covered_percent: float
    note: str


def keeping_of(composition: Composition) -> Keeping:
    """The risk note of a bar's unsaponified fat."""
    table = read_toml("chemistry/keeping.toml")
    masses: dict[str, float] = {}
    for part in composition.unsaponified:
        liquid = liquids().get(part.key)
        key = part.key if liquid is None else str(liquid.fat)
        masses[key] = masses.get(key, 0.0) + part.mass_g
    free = 100.0 * sum(masses.values()) / composition.total_g if composition.total_g else 0.0
    fractions, covered = blend_fractions(masses)
    if not fractions:
        return Keeping(
            polyunsaturated_percent=None,
            free_fat_percent=free,
            covered_percent=0.0,
            note=str(table["note_unknown"]),
        )
    share = 100.0 * polyunsaturated_fraction(fractions)
    note = str(table["note"]).format(share=f"{share:.0f}", free=f"{free:.1f}")
    return Keeping(
        polyunsaturated_percent=share,
        free_fat_percent=free,
        covered_percent=100.0 * covered,
        note=note,
    )
