"""Composition at pour."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from soapstock.chemistry import molar
from soapstock.chemistry.composition import Part, composition_at_pour
from soapstock.chemistry.interval import Interval
from soapstock.chemistry.lye import FatPortion, Lye
from soapstock.errors import BadInput

PURE = Interval.exact(100.0)


def lye(naoh_g: float, koh_g: float = 0.0, assay: float = 100.0) -> Lye:
    """Lye of one exact assay."""
    exact = Interval.exact(assay)
    return Lye(naoh_g=naoh_g, koh_g=koh_g, naoh_assay_percent=exact, koh_assay_percent=exact)


portions = st.lists(
    st.builds(
        FatPortion,
        fat=st.sampled_from(["beef-tallow", "olive", "jojoba", "stearic-acid", "coconut"]),
        mass_g=st.floats(0.1, 1e5),
        sv=st.floats(90.0, 260.0).map(Interval.exact),
        acid_value=st.floats(0.0, 20.0),
        moisture_percent=st.floats(0.0, 5.0),
    ),
    min_size=1,
    max_size=6,
)


@given(
    fats=portions,
    naoh=st.floats(0.0, 1e5),
    koh=st.floats(0.0, 1e5),
    assay=st.floats(85.0, 100.0),
    water=st.floats(0.0, 1e5),
    clay=st.floats(0.0, 1e3),
)
def test_mass_balances_to_one_in_a_thousand_million(
    fats: list[FatPortion], naoh: float, koh: float, assay: float, water: float, clay: float
) -> None:
    """What comes out of the pot is what went in, whatever the recipe."""
    made = composition_at_pour(
        fats, lye(naoh, koh, assay), water, [Part(key="kaolin", mass_g=clay)]
    )
    weighed = sum(p.mass_g for p in fats) + naoh + koh + water + clay
    assert made.total_g == pytest.approx(weighed, rel=1e-9)
    assert min(s.mass_g for s in made.soaps) >= 0.0 if made.soaps else True
    assert all(part.mass_g >= -1e-6 for part in made.unsaponified)


def tallow(mass_g: float = 1000.0) -> FatPortion:
    """Tallow of one exact SV."""
    return FatPortion(fat="beef-tallow", mass_g=mass_g, sv=Interval.exact(196.0))


def full_naoh() -> float:
    """NaOH that takes up a kilogram of that tallow."""
    return 196.0 * molar.NAOH_PER_KOH


def test_superfat_leaves_that_share_of_the_fat() -> None:
    """5 % less lye leaves 5 % of the fat."""
    made = composition_at_pour([tallow()], lye(full_naoh() * 0.95), 250)
    assert made.unsaponified[0].mass_g == pytest.approx(50.0)
    assert made.free_naoh_g == pytest.approx(0.0, abs=1e-9)


def test_lye_left_over_is_free_hydroxide() -> None:
    """10 % too much lye stays as NaOH."""
    made = composition_at_pour([tallow()], lye(full_naoh() * 1.1), 250)
    assert made.free_naoh_g == pytest.approx(0.1 * full_naoh())
    assert made.unsaponified[0].mass_g == pytest.approx(0.0, abs=1e-9)


def test_dual_lye_makes_both_soaps_by_moles() -> None:
    """Equal moles of both hydroxides share the fat equally."""
    made = composition_at_pour([tallow()], lye(molar.NAOH, molar.KOH), 250)
    sodium, potassium = made.soaps
    assert (sodium.metal, potassium.metal) == ("sodium", "potassium")
    moles = 1.0
    assert potassium.mass_g - sodium.mass_g == pytest.approx(moles * (molar.KOH - molar.NAOH))


def test_a_wax_gives_no_glycerol() -> None:
    """Jojoba is a wax ester."""
    wax = FatPortion(fat="jojoba", mass_g=100, sv=Interval.exact(92.0))
    assert composition_at_pour([wax], lye(5.0), 10).glycerol_g == 0.0


def test_a_free_acid_makes_water_and_no_glycerol() -> None:
    """Stearic acid takes lye at once: one water for one acid."""
    acid = FatPortion(fat="stearic-acid", mass_g=100, sv=Interval.exact(197.2))
    made = composition_at_pour([acid], lye(4.0), 0.0)
    assert made.glycerol_g == 0.0
    assert made.water_g == pytest.approx(4.0 / molar.NAOH * molar.WATER)


def test_assay_rest_is_inert() -> None:
    """2 % of a 98 % lye is no hydroxide."""
    assert composition_at_pour([tallow()], lye(100.0, assay=98.0), 0).inert_g == pytest.approx(2.0)


def test_another_date_keeps_the_dry_matter() -> None:
    """Drying takes water only."""
    poured = composition_at_pour([tallow()], lye(130.0), 260.0)
    later = poured.with_water(100.0)
    assert later.dry_g == pytest.approx(poured.dry_g)
    assert later.total_g == pytest.approx(poured.total_g - 160.0)
    assert later.water_fraction == pytest.approx(100.0 / later.total_g)


def test_negative_water_is_refused() -> None:
    """A bar cannot hold less than no water."""
    poured = composition_at_pour([tallow()], lye(130.0), 260.0)
    with pytest.raises(BadInput):
        poured.with_water(-1.0)
    with pytest.raises(BadInput):
        composition_at_pour([tallow()], lye(130.0), -1.0)


def test_fatty_matter_of_pure_sodium_oleate_is_the_acids_share() -> None:
    """282.468 / 304.450 of the soap (molar masses, CIAAW); glycerol and water hold none."""
    sv = 3 * 1000 * molar.KOH / molar.molar_mass("C57H104O6")
    oil = FatPortion(fat="olive", mass_g=100.0, sv=Interval.exact(sv))
    made = composition_at_pour([oil], lye(100.0 * sv / 1000 * molar.NAOH_PER_KOH), 0.0)
    acids = made.soaps[0].mass_g * 282.468 / 304.450
    assert made.fatty_matter_fraction * made.total_g == pytest.approx(acids, rel=1e-5)


def test_free_alkali_is_a_share_of_the_bar_as_naoh() -> None:
    """KOH counts as the NaOH of the same moles."""
    made = composition_at_pour([tallow()], lye(0.0, 196.0 * 1.1), 100.0)
    assert made.free_alkali_percent == pytest.approx(
        100 * 0.1 * 196.0 * molar.NAOH_PER_KOH / made.total_g
    )
    assert composition_at_pour([tallow()], lye(100.0), 100.0).free_alkali_percent == 0.0


def test_a_bars_later_mass_gives_its_composition() -> None:
    """Below its dry matter no bar can be."""
    poured = composition_at_pour([tallow()], lye(130.0), 260.0)
    assert poured.with_total(poured.dry_g + 50.0).water_g == pytest.approx(50.0)
    with pytest.raises(BadInput, match="dry matter"):
        poured.with_total(poured.dry_g - 1.0)


def test_a_bar_needs_a_mass_to_have_shares() -> None:
    """Nothing has no water fraction, fatty matter or free alkali."""
    nothing = composition_at_pour([], lye(0.0), 0.0)
    assert nothing.water_fraction == 0.0
    assert nothing.fatty_matter_fraction == 0.0
    assert nothing.free_alkali_percent == 0.0


def test_a_negative_addition_is_refused() -> None:
    """Named by its key."""
    with pytest.raises(BadInput, match="kaolin"):
        composition_at_pour([tallow()], lye(130.0), 260.0, [Part(key="kaolin", mass_g=-1.0)])
