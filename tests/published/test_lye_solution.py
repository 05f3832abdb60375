"""Lye solution: density, peak temperature, boiling.

Sources: CRC Handbook 102nd ed., concentrative properties, 20 C; the `thermo` package (Laliberte
model); the `absorptionlib` package (Olsson, Jernqvist and Aly 1997); computed peaks in our notes.
"""

from __future__ import annotations

import csv
import warnings
from pathlib import Path

import pytest

from soapstock import tables
from soapstock.chemistry import heat

CRC_20C = {1: 1.0095, 5: 1.0538, 10: 1.1089, 20: 1.2192, 30: 1.3277, 36: 1.3901, 40: 1.4299}


@pytest.mark.parametrize(("percent", "density"), CRC_20C.items())
def test_density_is_the_handbooks(percent: float, density: float) -> None:
    """CRC 102nd ed., 20 C, g/cm3."""
    assert heat.density_g_ml(percent) == pytest.approx(density, abs=5e-5)


@pytest.mark.parametrize("percent", [3.5, 11.5, 21, 25, 27, 31, 33.3, 35, 39])
def test_density_between_rows_agrees_with_thermo(percent: float) -> None:
    """Laliberte model at 20 C; its worst error against CRC is 0.0039 g/cm3 at 40 %."""
    from thermo.electrochem import Laliberte_density

    expected = Laliberte_density(293.15, [percent / 100], ["1310-73-2"]) / 1000
    assert heat.density_g_ml(percent) == pytest.approx(expected, abs=0.005)


def olsson_peak_c(fraction: float, start_c: float) -> float:
    """Adiabatic peak by the Olsson enthalpy: solid NaOH at 25 C is 1051.6 kJ/kg, cp 1.49."""
    from absorptionlib import NaOH

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        water = 4.186 * start_c
        mixed = (1 - fraction) * water + fraction * (1051.6 + 1.49 * (start_c - 25))
        low, high = start_c, 160.0
        for _ in range(60):
            middle = (low + high) / 2
            enthalpy = NaOH.enthalpy(fraction, middle)
            low, high = (middle, high) if enthalpy < mixed else (low, middle)
        return low


@pytest.mark.parametrize("percent", [21, 23.5, 26.5, 29, 31, 34, 36.5, 39, 41, 45, 48])
@pytest.mark.parametrize("start_c", [5.0, 12.0, 20.0, 25.0])
def test_peak_between_rows_agrees_with_an_independent_package(
    percent: float, start_c: float
) -> None:
    """Within 2 C of the absorptionlib enthalpy, at concentrations between our rows."""
    assert heat.peak_c(percent, start_c) == pytest.approx(
        olsson_peak_c(percent / 100, start_c), abs=2.0
    )


def test_every_row_of_the_peak_table_is_met() -> None:
    """The function gives back each tabulated peak."""
    path = Path(tables.FOLDER) / "chemistry/lye_peak.csv"
    rows = [line for line in path.read_text().splitlines() if not line.startswith("#")]
    for row in csv.DictReader(rows):
        for start in (5, 20, 25):
            assert heat.peak_c(float(row["naoh_percent"]), start) == pytest.approx(
                float(row[f"peak_from_{start}_c"]), abs=2.0
            )


def test_the_worked_example_of_the_notes() -> None:
    """100 g NaOH and 200 g water at 20 C: 104.5 +-2 C, below boiling at 120.9 C."""
    peak = heat.lye_peak(naoh_g=100, water_g=200, start_c=20)
    assert peak is not None
    assert peak.peak_c == pytest.approx(104.5, abs=2.0)
    assert peak.boiling_c == pytest.approx(120.9, abs=0.2)


@pytest.mark.parametrize("percent", [20, 26, 30, 36, 40, 46])
def test_boiling_agrees_with_the_independent_package(percent: float) -> None:
    """The saturation temperature at 1 atm by absorptionlib, +-1 C."""
    from absorptionlib import NaOH

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        boils = NaOH.saturation_temperature(percent / 100, 101325)
    assert heat.boiling_c(percent) == pytest.approx(boils, abs=1.0)


@pytest.mark.parametrize(("percent", "falls_c"), [(18.7, -28.0), (39.0, 15.7), (50.0, 14.0)])
def test_crystals_fall_where_published(percent: float, falls_c: float) -> None:
    """Wang et al. 2008 (digitised, +-1 C); 50 % about 14 C by a maker's page (Dow), +-3 C."""
    assert heat.freezing_c(percent) == pytest.approx(falls_c, abs=3.0)
