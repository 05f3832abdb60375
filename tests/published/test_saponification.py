"""Saponification against theory, worked examples and published ranges.

Sources named beside each check.
"""

from __future__ import annotations

import pytest

from soapstock.chemistry import molar
from soapstock.chemistry.composition import composition_at_pour
from soapstock.chemistry.interval import Interval
from soapstock.chemistry.lye import FatPortion, Lye

# Molecular formulas are definitions; SV = 3 x 56.1 x 1000 / M (AOCS Cd 3a-94 form).
PURE_TRIGLYCERIDES = [
    ("tristearin", "C57H110O6", 188.8),
    ("triolein", "C57H104O6", 190.1),
    ("trilaurin", "C39H74O6", 263.4),
    ("tripalmitin", "C51H98O6", 208.5),
    ("trimyristin", "C45H86O6", 232.75),
    ("trilinolein", "C57H98O6", 191.4),
]


@pytest.mark.parametrize(("name", "formula", "sv"), PURE_TRIGLYCERIDES)
def test_sv_of_pure_triglycerides(name: str, formula: str, sv: float) -> None:
    """Computed in our notes from CIAAW weights, +-0.1."""
    assert 3 * molar.KOH * 1000 / molar.molar_mass(formula) == pytest.approx(sv, abs=0.1), name


@pytest.mark.parametrize(
    ("formula", "glycerol_percent"), [("C57H104O6", 10.40), ("C39H74O6", 14.41)]
)
def test_glycerol_yield_of_a_pure_triglyceride(formula: str, glycerol_percent: float) -> None:
    """92.094 / M(triglyceride): triolein 10.40 %, trilaurin 14.41 % (stoichiometry)."""
    sv = 3 * molar.KOH * 1000 / molar.molar_mass(formula)
    fat = FatPortion(fat="olive", mass_g=100.0, sv=Interval.exact(sv))
    pure = Interval.exact(100.0)
    naoh = 100.0 * sv / 1000 * molar.NAOH_PER_KOH
    lye = Lye(naoh_g=naoh, naoh_assay_percent=pure, koh_assay_percent=pure)
    made = composition_at_pour([fat], lye, 0.0)
    assert made.glycerol_g == pytest.approx(glycerol_percent, abs=0.006)
    assert made.unsaponified[0].mass_g == pytest.approx(0.0, abs=1e-9)


def test_soap_mass_is_that_of_the_pure_salt() -> None:
    """100 g triolein gives 3 x 304.45 / 885.45 x 100 g sodium oleate (molar masses, CIAAW)."""
    sv = 3 * molar.KOH * 1000 / molar.molar_mass("C57H104O6")
    fat = FatPortion(fat="olive", mass_g=100.0, sv=Interval.exact(sv))
    pure = Interval.exact(100.0)
    lye = Lye(
        naoh_g=300 * molar.NAOH / molar.molar_mass("C57H104O6"),
        naoh_assay_percent=pure,
        koh_assay_percent=pure,
    )
    made = composition_at_pour([fat], lye, 0.0)
    expected = 300 * molar.molar_mass("C18H33O2Na") / molar.molar_mass("C57H104O6")
    assert made.soaps[0].mass_g == pytest.approx(expected, rel=1e-9)


def test_free_acid_takes_its_share_of_lye_and_makes_water() -> None:
    """Acid value 7 with SV 175: ester value 168 (printed exam example); water 0.032109 x AV %."""
    fat = FatPortion(fat="lard", mass_g=100.0, sv=Interval.exact(175.0), acid_value=7.0)
    pure = Interval.exact(100.0)
    naoh = 100.0 * 175.0 / 1000 * molar.NAOH_PER_KOH
    lye = Lye(naoh_g=naoh, naoh_assay_percent=pure, koh_assay_percent=pure)
    made = composition_at_pour([fat], lye, 0.0)
    assert made.water_g == pytest.approx(0.032109 * 7.0, rel=1e-4)
    assert made.glycerol_g == pytest.approx(0.054715 * 168.0, rel=1e-4)


def test_a_printed_exam_example_of_acid_and_ester_value() -> None:
    """Acid value 7 and 89 % tristearin: ester value 168, SV 175 (printed example, recomputed)."""
    ester = 0.89 * 3 * molar.KOH * 1000 / molar.molar_mass("C57H110O6")
    assert ester == pytest.approx(168.0, abs=0.1)
    assert ester + 7 == pytest.approx(175.0, abs=0.1)


@pytest.mark.parametrize(
    ("acid", "formula", "factor"),
    [
        ("oleic", "C18H34O2", 1.986),
        ("lauric", "C12H24O2", 2.801),
    ],
)
def test_free_acid_per_cent_from_the_acid_value(acid: str, formula: str, factor: float) -> None:
    """FFA % as oleic = AV / 1.986, as lauric AV / 2.801 (computed in our notes)."""
    assert molar.KOH * 10 / molar.molar_mass(formula) == pytest.approx(factor, abs=0.001), acid
