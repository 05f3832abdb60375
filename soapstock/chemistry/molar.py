"""Molar masses, computed from atomic weights.

Saponification: triglyceride + 3 NaOH -> 3 soap + glycerol; the ester part makes no water. A free
fatty acid + NaOH -> soap + water. SV counts both as mg KOH per g of fat (ISO 3657).
"""

from __future__ import annotations

import re
from functools import cache

from soapstock.tables import read_toml

_ELEMENT = re.compile(r"([A-Z][a-z]?)(\d*)")


@cache
def molar_mass(formula: str) -> float:
    """Molar mass, g/mol, of a plain formula such as `NaOH` or `C3H8O3`.

    Source: CIAAW atomic weights in tables/chemistry/atomic_weights.toml.

    >>> round(molar_mass("NaOH"), 4)
    39.9968
    """
    weights = read_toml("chemistry/atomic_weights.toml")["weights"]
    found = _ELEMENT.findall(formula)
    return float(sum(weights[element] * int(count or 1) for element, count in found))


NAOH = molar_mass("NaOH")
KOH = molar_mass("KOH")
WATER = molar_mass("H2O")
GLYCEROL = molar_mass("C3H8O3")
SODIUM = molar_mass("Na")
POTASSIUM = molar_mass("K")
HYDROGEN = molar_mass("H")
NAOH_PER_KOH = NAOH / KOH  # g NaOH that does the work of 1 g KOH
# Carbonate counts in a total-alkali titration as this much NaOH, but does not saponify.
NAOH_PER_CARBONATE = 2.0 * NAOH / molar_mass("Na2CO3")
MG_PER_G = 1000.0
ESTERS_PER_GLYCEROL = 3  # a triglyceride holds three acids


def equivalents(mass_g: float, sv_mg_koh_g: float) -> float:
    """Moles of alkali that a mass of fat takes up."""
    return mass_g * sv_mg_koh_g / MG_PER_G / KOH
