"""What takes lye besides the fats: acids, and the fat in milks.

An acid of n acid hydrogens takes n mol of alkali; the fat in a milk takes what that fat takes. Both
stand as a portion whose saponification value is that of the addition as weighed, so that the lye
sum, the superfat's interval and its weighing errors treat them like any fat.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from soapstock.chemistry import molar
from soapstock.chemistry.fats import get_fat
from soapstock.chemistry.interval import Interval
from soapstock.chemistry.liquids import liquids
from soapstock.chemistry.lye import FatPortion
from soapstock.tables import read_toml


@dataclass(frozen=True, slots=True, kw_only=True)
class Acid:
    """An acid that makers add.

    Attributes:
        sv: mg KOH taken by 1 g of what is weighed, over the strengths it is bought in.
        water_percent: water in it at its usual strength.
        sodium, potassium: keys of its salts.
    """

    key: str
    name: str
    sv: Interval
    water_percent: float
    sodium: str
    potassium: str


@cache
def added_acids() -> Mapping[str, Acid]:
    """The acids of the tables by key, such as `citric-acid`."""
    found: dict[str, Acid] = {}
    for key, row in read_toml("chemistry/acids.toml").items():
        pure = molar.MG_PER_G * int(row["hydrogens"]) * molar.KOH / molar.molar_mass(row["formula"])
        low, usual, high = (float(x) / 100.0 for x in row["strength_percent"])
        found[key] = Acid(
            key=key,
            name=str(row["name"]),
            sv=Interval(low=pure * low, nominal=pure * usual, high=pure * high),
            water_percent=100.0 * (1.0 - usual),
            sodium=str(row["sodium"]),
            potassium=str(row["potassium"]),
        )
    return found


def takes_lye(key: str) -> bool:
    """Whether an addition of this key takes lye."""
    liquid = liquids().get(key)
    return key in added_acids() or (liquid is not None and liquid.fat is not None)


def lye_takers(additions_g: Mapping[str, float]) -> tuple[FatPortion, ...]:
    """The additions that take lye as portions for the lye sum; masses as weighed, g."""
    return tuple(
        _acid_portion(key, mass_g) if key in added_acids() else _milk_portion(key, mass_g)
        for key, mass_g in additions_g.items()
        if mass_g > 0.0 and takes_lye(key)
    )


def reacting_portion(key: str, mass_g: float) -> FatPortion:
    """What reacts of an addition that takes lye, g: an acid whole, of a milk its fat alone."""
    if key in added_acids():
        return _acid_portion(key, mass_g)
    liquid = liquids()[key]
    return FatPortion(fat=key, mass_g=liquid.fat_g(mass_g), sv=get_fat(str(liquid.fat)).sv)


def _acid_portion(key: str, mass_g: float) -> FatPortion:
    acid = added_acids()[key]
    return FatPortion(
        fat=key,
        mass_g=mass_g,
        sv=acid.sv,
        acid_value=acid.sv.nominal,
        moisture_percent=acid.water_percent,
    )


def _milk_portion(key: str, mass_g: float) -> FatPortion:
    liquid = liquids()[key]
    sv, fat = get_fat(str(liquid.fat)).sv, liquid.fat_percent
    as_weighed = Interval(
        low=sv.low * fat.low / 100.0,
        nominal=sv.nominal * fat.nominal / 100.0,
        high=sv.high * fat.high / 100.0,
    )
    return FatPortion(fat=key, mass_g=mass_g, sv=as_weighed)
