"""Molar masses against the periodictable package, which carries the CIAAW atomic weights.

Source: periodictable (open data package), IUPAC/CIAAW standard atomic weights.
"""

from __future__ import annotations

import periodictable
import pytest

from soapstock.chemistry import molar

FORMULAS = [
    "NaOH",
    "KOH",
    "H2O",
    "C3H8O3",
    "Na2CO3",
    "C57H110O6",
    "C57H104O6",
    "C39H74O6",
    "C18H36O2",
]


@pytest.mark.parametrize("formula", FORMULAS)
def test_molar_mass_agrees_with_the_package(formula: str) -> None:
    """Within the rounding of abridged weights, 2e-5 relative."""
    assert molar.molar_mass(formula) == pytest.approx(periodictable.formula(formula).mass, rel=2e-5)


def test_ratio_of_sodium_to_potassium_hydroxide() -> None:
    """CRC Handbook prints 39.997 and 56.105 g/mol (102nd ed.): 0.71289."""
    assert molar.NAOH_PER_KOH == pytest.approx(39.997 / 56.105, abs=2e-5)
