"""How much batter fills a volume."""

from __future__ import annotations

from soapstock.chemistry.heat import density_g_ml
from soapstock.errors import BadInput
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
