"""Fatty-acid profiles, and what follows from them: molar mass, saponification and iodine value.

The mean molar mass of the acids is the mole mean, sum(w) / sum(w / M): the mass-weighted mean is
wrong by several units for fats of mixed chain length such as coconut.
Source: AOCS Cd 3a-94 form for SV, AOCS Cd 1c-85 form for the iodine value (factors from memory).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from soapstock.chemistry import molar
from soapstock.errors import BadTable
from soapstock.tables import read_csv

PROFILE_COLUMNS = ("fat", "profile", "acid", "low", "high", "source", "confidence")
ACID_COLUMNS = ("acid", "name", "carbons", "double_bonds", "hydroxyl", "iodine")
POLYUNSATURATED_FROM = 2  # double bonds


@dataclass(frozen=True, slots=True, kw_only=True)
class Acid:
    """One fatty acid; `iodine` is the iodine value of its pure triglyceride over 100."""

    key: str
    name: str
    carbons: int
    double_bonds: int
    hydroxyl: int
    iodine: float

    @property
    def molar_mass(self) -> float:
        """Molar mass, g/mol, from the formula C(n) H(2n - 2d) O(2 + hydroxyl)."""
        hydrogens = 2 * (self.carbons - self.double_bonds)
        return molar.molar_mass(f"C{self.carbons}H{hydrogens}O{2 + self.hydroxyl}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Profile:
    """One published profile of a fat: ranges, mass % of the fatty acids."""

    fat: str
    label: str
    ranges: Mapping[str, tuple[float, float]]
    source: str
    confidence: str

    def fractions(self) -> dict[str, float]:
        """Mass fractions 0-1 at the middle of the ranges, made to add up to one."""
        middles = {acid: (low + high) / 2.0 for acid, (low, high) in self.ranges.items()}
        total = sum(middles.values())
        return {acid: value / total for acid, value in middles.items()}


@cache
def acids() -> Mapping[str, Acid]:
    """Every fatty acid of the tables by key, such as `C18:1`."""
    rows = read_csv("chemistry/fatty_acids.csv", ACID_COLUMNS)
    return {
        row["acid"]: Acid(
            key=row["acid"],
            name=row["name"],
            carbons=int(row["carbons"]),
            double_bonds=int(row["double_bonds"]),
            hydroxyl=int(row["hydroxyl"]),
            iodine=float(row["iodine"] or 0.0),
        )
        for row in rows
    }


@cache
def _all_profiles() -> Mapping[str, tuple[Profile, ...]]:
    ranges: dict[tuple[str, str], dict[str, tuple[float, float]]] = {}
    said: dict[tuple[str, str], tuple[str, str]] = {}
    for row in read_csv("chemistry/profiles.csv", PROFILE_COLUMNS):
        key = (row["fat"], row["profile"])
        low, high = float(row["low"]), float(row["high"])
        if row["acid"] not in acids() or not 0.0 <= low <= high <= 100.0:  # noqa: PLR2004
            raise BadTable(f"profiles.csv: {row['fat']} {row['acid']} {low:g} to {high:g} is wrong")
        ranges.setdefault(key, {})[row["acid"]] = (low, high)
        said.setdefault(key, (row["source"], row["confidence"]))
    found: dict[str, tuple[Profile, ...]] = {}
    for (fat, label), held in ranges.items():
        source, confidence = said[fat, label]
        profile = Profile(fat=fat, label=label, ranges=held, source=source, confidence=confidence)
        found[fat] = (*found.get(fat, ()), profile)
    return found


def profiles_of(fat: str) -> tuple[Profile, ...]:
    """Published profiles of a fat, the one used first; empty when there is none."""
    return _all_profiles().get(fat, ())


def mean_acid_molar_mass(fractions: Mapping[str, float]) -> float:
    """Mole mean of the acids' molar masses, g/mol, of mass fractions."""
    known = acids()
    return sum(fractions.values()) / sum(
        w / known[acid].molar_mass for acid, w in fractions.items()
    )


def saponification_value(
    fractions: Mapping[str, float], *, unsaponifiable_fraction: float = 0.0
) -> float:
    """Saponification value, mg KOH/g, of the triglycerides of these acids (mass fractions).

    Source: SV = 3 x 1000 M(KOH) / (3 M(acid) + M(glycerol) - 3 M(water)); unsaponifiable matter
    lowers it in proportion.
    """
    triglyceride = 3.0 * mean_acid_molar_mass(fractions) + molar.GLYCEROL - 3.0 * molar.WATER
    return 3.0 * molar.MG_PER_G * molar.KOH / triglyceride * (1.0 - unsaponifiable_fraction)


def iodine_value(fractions: Mapping[str, float]) -> float:
    """Iodine value, g I2/100 g, of the triglycerides of these acids (mass fractions)."""
    known = acids()
    return sum(100.0 * w * known[acid].iodine for acid, w in fractions.items())


def polyunsaturated_fraction(fractions: Mapping[str, float]) -> float:
    """Mass fraction 0-1 of acids with two double bonds or more."""
    known = acids()
    total = sum(fractions.values())
    many = sum(w for a, w in fractions.items() if known[a].double_bonds >= POLYUNSATURATED_FROM)
    return many / total


def blend_fractions(masses_g: Mapping[str, float]) -> tuple[dict[str, float], float]:
    """Acid mass fractions of a blend of fats, and the fraction of the fats that has a profile."""
    blend: dict[str, float] = {}
    covered = 0.0
    for fat, mass_g in masses_g.items():
        profiles = profiles_of(fat)
        if not profiles or mass_g <= 0.0:
            continue
        covered += mass_g
        for acid, fraction in profiles[0].fractions().items():
            blend[acid] = blend.get(acid, 0.0) + mass_g * fraction
    total = sum(masses_g.values())
    if covered == 0.0 or total == 0.0:
        return {}, 0.0
    return {acid: mass / covered for acid, mass in blend.items()}, covered / total
