"""How much batter fills a volume."""

from __future__ import annotations

import math
from dataclasses import dataclass

from soapstock.chemistry.heat import density_g_ml
from soapstock.errors import BadInput
from soapstock.recipes.bars import BarShape
from soapstock.tables import read_toml

LEAST_KNOWN_PERCENT, MOST_KNOWN_PERCENT = 0.0, 50.0


def batter_density_g_ml(*, fat_g: float, alkali_g: float, water_g: float) -> float:
    """Density of fresh batter, g/mL, as if the volumes of fat and lye solution added up.

    Potassium hydroxide solution is taken as dense as sodium hydroxide solution of the same mass
    share; solutions above 50 % as one of 50 %. Additions are taken as dense as the batter.

    Source: tables/chemistry/batter.toml and lye_density.csv.

    Raises:
        BadInput: no fat.
    """
    if fat_g <= 0.0:
        raise BadInput("there is no fat in the batter")
    fat_ml = fat_g / float(read_toml("chemistry/batter.toml")["fat_density_g_ml"])
    lye_g = alkali_g + water_g
    share = 100.0 * alkali_g / lye_g if lye_g > 0.0 else 0.0
    density = density_g_ml(min(max(share, LEAST_KNOWN_PERCENT), MOST_KNOWN_PERCENT)) or 1.0
    return (fat_g + lye_g) / (fat_ml + lye_g / density)


@dataclass(frozen=True, slots=True, kw_only=True)
class MouldFit:
    """What a mould holds.

    Attributes:
        volume_ml: inside volume of all moulds, mL.
        batter_g: batter that fills them, g.
        bars: whole bars of the recipe's shape by volume, or None without a shape; trimmings and
            the saw's cut are not counted.
        wet_bar_g: fresh mass of one bar, g.
    """

    volume_ml: float
    batter_g: float
    bars: int | None
    wet_bar_g: float | None


def fit_mould(
    mould: BarShape, *, count: int, density_g_ml: float, bar: BarShape | None
) -> MouldFit:
    """How much batter fills a number of moulds, and how many bars that makes.

    Args:
        mould: inside shape of one mould.
        count: how many moulds, 1 or more.
        density_g_ml: density of the batter.
        bar: shape of one bar, or None.

    Raises:
        BadInput: no mould, or a bar larger than the mould.
    """
    if count < 1:
        raise BadInput(f"{count} moulds hold nothing")
    volume_ml = mould.volume_ml * count
    if bar is None:
        return MouldFit(
            volume_ml=volume_ml, batter_g=volume_ml * density_g_ml, bars=None, wet_bar_g=None
        )
    each = math.floor(mould.volume_ml / bar.volume_ml + 1e-9)
    if each == 0:
        raise BadInput(f"a bar ({bar.describe()}) is larger than the mould ({mould.describe()})")
    return MouldFit(
        volume_ml=volume_ml,
        batter_g=volume_ml * density_g_ml,
        bars=each * count,
        wet_bar_g=bar.volume_ml * density_g_ml,
    )
