"""The composition of what was weighed: acids become salts, milk brings fat."""

from __future__ import annotations

import pytest

from soapstock.chemistry.composition import Part
from soapstock.chemistry.fats import get_fat
from soapstock.chemistry.keeping import keeping_of
from soapstock.chemistry.lye import FatPortion
from soapstock.recipes.recipe import parse_recipe
from soapstock.recipes.weighed import ActualMasses, composition_of


def pot(*additions: Part, naoh_g: float = 130.0) -> ActualMasses:
    """1 kg of olive oil, lye, water and the additions."""
    olive = FatPortion(fat="olive", mass_g=1000.0, sv=get_fat("olive").sv)
    return ActualMasses(fats=(olive,), naoh_g=naoh_g, koh_g=0.0, water_g=260.0, additions=additions)


@pytest.mark.parametrize("key", ["citric-acid", "lactic-acid", "goat-milk", "coconut-milk", "tea"])
def test_mass_is_kept(rule_text: str, key: str) -> None:
    """What is weighed in is in the pot, to a millionth of a gram."""
    made = composition_of(parse_recipe(rule_text, "r"), pot(Part(key=key, mass_g=120.0)))
    assert made.total_g == pytest.approx(1000.0 + 130.0 + 260.0 + 120.0, abs=1e-6)


def test_citric_acid_becomes_its_salt_and_is_no_fatty_matter(rule_text: str) -> None:
    """C6H8O7 + 3 NaOH -> C6H5O7Na3 + 3 H2O: 20 g give 26.87 g citrate and 5.63 g water.

    Molar masses 192.123, 258.07 and 18.015 (CIAAW weights). The fat it robs of lye stays whole,
    so the fatty matter (ISO 685) is as before, but for the glycerol still in it.
    """
    recipe = parse_recipe(rule_text, "r")
    plain = composition_of(recipe, pot())
    sour = composition_of(recipe, pot(Part(key="citric-acid", mass_g=20.0)))
    assert {soap.fat for soap in sour.soaps} == {"olive"}
    salt = {part.key: part.mass_g for part in sour.additions}
    assert salt["citric-acid"] == pytest.approx(20 * 258.07 / 192.123, abs=0.01)
    assert sour.water_g - plain.water_g == pytest.approx(20 * 3 * 18.015 / 192.123, abs=0.01)
    fatty = plain.fatty_matter_fraction * plain.total_g, sour.fatty_matter_fraction * sour.total_g
    # an ester left whole keeps its glycerol part: 38.05 g for 3 mol of lye
    assert fatty[1] - fatty[0] == pytest.approx(20 * 38.05 / 192.123, abs=0.05)


def test_acid_takes_the_lye_before_the_fat_does(rule_text: str) -> None:
    """20 g citric acid leave 12.49 g NaOH less for the oil: more free fat, and the note says so."""
    recipe = parse_recipe(rule_text, "r")
    plain = composition_of(recipe, pot())
    sour = composition_of(recipe, pot(Part(key="citric-acid", mass_g=20.0)))
    left = [sum(part.mass_g for part in made.unsaponified) for made in (plain, sour)]
    assert left[1] - left[0] == pytest.approx(1000 * 12.490 / (190 * 0.712888), abs=0.1)
    assert keeping_of(sour).free_fat_percent > keeping_of(plain).free_fat_percent + 5.0


def test_the_fat_of_milk_is_fat(rule_text: str) -> None:
    """300 g coconut milk of 16.3 % fat (Codex CXS 240-2003) bring 48.9 g of it, soap and free."""
    recipe = parse_recipe(rule_text, "r")
    made = composition_of(recipe, pot(Part(key="coconut-milk", mass_g=300.0)))
    own = [soap for soap in made.soaps if soap.fat == "coconut-milk"]
    left = [part for part in made.unsaponified if part.key == "coconut-milk"]
    acids_g = sum(soap.fatty_acids_g for soap in own)
    assert 48.9 * 0.93 < acids_g + left[0].mass_g < 48.9
    assert made.water_g > 260.0 + 300 * 0.81 - 1.0
    assert keeping_of(made).covered_percent == pytest.approx(100.0)
