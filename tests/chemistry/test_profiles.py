"""Fatty-acid profiles."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from soapstock.chemistry import profiles


@given(
    st.dictionaries(
        st.sampled_from(sorted(profiles.acids())), st.floats(0.01, 1.0), min_size=1, max_size=8
    )
)
def test_a_blend_of_acids_lies_between_its_acids(fractions: dict[str, float]) -> None:
    """The mole mean is a mean."""
    found = profiles.mean_acid_molar_mass(fractions)
    masses = [profiles.acids()[acid].molar_mass for acid in fractions]
    assert min(masses) - 1e-9 <= found <= max(masses) + 1e-9


def test_unsaponifiable_matter_lowers_sv_in_proportion() -> None:
    """SV(fat) = SV(glycerides) x (1 - unsaponifiable)."""
    pure = profiles.saponification_value({"C18:1": 1.0})
    assert profiles.saponification_value(
        {"C18:1": 1.0}, unsaponifiable_fraction=0.1
    ) == pytest.approx(0.9 * pure)


def test_a_fat_without_a_profile_is_left_out_and_told() -> None:
    """Beeswax has no fatty-acid profile here: half the blend is covered."""
    fractions, covered = profiles.blend_fractions({"olive": 50.0, "beeswax": 50.0})
    assert covered == pytest.approx(0.5)
    assert sum(fractions.values()) == pytest.approx(1.0)


def test_an_unknown_blend_has_no_profile() -> None:
    """Nothing is made up."""
    assert profiles.blend_fractions({"beeswax": 10.0}) == ({}, 0.0)


def test_shares_by_double_bonds_add_up() -> None:
    """Saturated, one double bond, and many."""
    fractions = {"C16:0": 0.3, "C18:1": 0.5, "C18:2": 0.2}
    assert profiles.polyunsaturated_fraction(fractions) == pytest.approx(0.2)
