"""Molar masses."""

from __future__ import annotations

import pytest

from soapstock.chemistry import molar


def test_counts_in_a_formula_multiply() -> None:
    """Water is two hydrogens and one oxygen."""
    assert molar.molar_mass("H2O") == pytest.approx(2 * 1.008 + 15.999)


def test_equivalents_of_a_kilogram_at_its_sv() -> None:
    """56.1053 mg KOH per g is one mole per kilogram."""
    assert molar.equivalents(1000, 56.1053) == pytest.approx(1.0, rel=1e-6)
