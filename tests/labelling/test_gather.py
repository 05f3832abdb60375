"""What a list names: scents we do not know, liquids with solids."""

from datetime import date
from decimal import Decimal

import pytest

from soapstock.chemistry.composition import Part
from soapstock.chemistry.liquids import liquids
from soapstock.errors import BadInput, RuleBroken
from soapstock.labelling.declaration import declare
from soapstock.labelling.gather import smells
from soapstock.labelling.names import find_material
from soapstock.recipes.pour import ActualMasses
from tests.labelling.test_declaration import AUTUMN, bar_at_pack, declared, fat, masses, recipe

HEATHER = (
    '[[additions]]\ningredient = "heather-blend"\nstage = "trace"\npercent_of_fats = 1\n'
    'label_name = "Fragrance"\n'
)


def test_every_liquid_of_the_recipes_has_a_label_name() -> None:
    """A milk that can be poured can be declared."""
    assert [key for key in liquids() if find_material(key) is None] == []


@pytest.mark.parametrize("key", ["moor-fragrance", "house-parfum", "sea-eo", "pine-essential-oil"])
def test_an_unknown_key_that_speaks_of_scent_is_a_scent(key: str) -> None:
    """Its allergens must be judged, so it may not pass for a plain addition."""
    assert smells(key)


@pytest.mark.parametrize("key", ["kaolin", "olive", "oatmeal", "saltmarsh-herb", "geode-dust"])
def test_other_keys_are_none(key: str) -> None:
    """Fats, clays and herbs are no scents."""
    assert not smells(key)


def test_an_unknown_scent_is_refused_where_allergens_are_due() -> None:
    """A label name does not hide that nobody knows what is in it."""
    with pytest.raises(RuleBroken, match="heather-blend"):
        declared("eu", Part(key="heather-blend", mass_g=12.0), extra=HEATHER)


def test_a_certificate_lets_an_unknown_scent_be_declared() -> None:
    """The supplier's figures name its allergens."""
    by, actual = recipe(HEATHER), masses(Part(key="heather-blend", mass_g=12.0))
    found = declare(
        actual,
        bar_at_pack(actual, by),
        by,
        market="eu",
        on=AUTUMN,
        certificates={"heather-blend": {"Coumarin": Decimal(5)}},
    )
    assert [line.name for line in found.lines if line.allergen] == ["Coumarin"]
    assert "Parfum" in found.text


def test_an_unknown_plain_addition_is_told_where_allergens_are_due() -> None:
    """It may smell for all we know, and the maker is told so."""
    extra = HEATHER.replace('"Fragrance"', '"Heather flowers"')
    found = declared("eu", Part(key="heather-blend", mass_g=12.0), extra=extra)
    assert any("heather-blend" in note for note in found.notes)


def test_milk_is_listed_whole_as_poured() -> None:
    """A hundred grams of goat milk are a hundred grams of goat milk."""
    found = declared("us-soap", Part(key="goat-milk", mass_g=100.0))
    assert next(line for line in found.lines if line.name == "Goat milk").mass_g == 100.0


def test_milk_is_listed_as_added_in_a_finished_list_too() -> None:
    """Art. 19(1)(g), by weight when added: what dries off later moves neither milk nor water."""
    by = recipe()
    actual = masses(Part(key="goat-milk", mass_g=100.0))
    found = declare(actual, bar_at_pack(actual, by), by, market="eu", on=AUTUMN)
    listed = {line.name: line.mass_g for line in found.lines}
    assert (listed["Caprae Lac"], listed["Aqua"]) == (100.0, actual.water_g)


def test_the_notes_say_of_which_day_the_masses_are() -> None:
    """Both ways list what was added that day."""
    by, actual = recipe(), masses()
    bar = bar_at_pack(actual, by)
    for market in ("us-soap", "eu"):
        made = declare(actual, bar, by, market=market, on=AUTUMN, poured_on=date(2026, 10, 1))
        assert "2026-10-01" in made.notes[0]


def test_a_scent_added_by_eye_is_refused_where_allergens_are_due() -> None:
    """What was not weighed cannot be held against 0.01 %."""
    extra = (
        '[[additions]]\ningredient = "lavender-oil"\nstage = "trace"\nunmeasured = true\n'
        'to_shade = "strong"\n'
    )
    with pytest.raises(RuleBroken, match="not weighed"):
        declared("eu", extra=extra)
    assert "Lavender essential oil" in declared("us-soap", extra=extra).text


def test_an_unknown_way_with_scents_is_refused() -> None:
    """Named or grouped."""
    with pytest.raises(BadInput):
        declared("eu", scent="hidden")


def test_potash_and_soda_soaps_are_listed_apart_in_a_finished_bar() -> None:
    """A dual-lye bar holds both soaps of each fat, by INCI name."""
    by = recipe()
    actual = ActualMasses(
        fats=(fat("coconut", 500, 256), fat("olive", 500, 190)), naoh_g=120, koh_g=20, water_g=280
    )
    text = declare(actual, bar_at_pack(actual, by), by, market="eu", on=AUTUMN).text
    for name in ("Sodium Cocoate", "Potassium Cocoate", "Sodium Olivate", "Potassium Olivate"):
        assert name in text


def test_an_acid_is_listed_as_the_salt_it_became() -> None:
    """Citric acid and lye make sodium citrate at once; weighed as added (Art. 19(1)(g))."""
    by = recipe()
    actual = masses(Part(key="citric-acid", mass_g=10.0))
    found = declare(actual, bar_at_pack(actual, by), by, market="eu", on=AUTUMN)
    listed = {line.name: line.mass_g for line in found.lines}
    assert "Citric Acid" not in listed
    assert listed["Sodium Citrate"] == 10.0


def test_the_soap_of_a_milks_fat_is_not_listed_beside_the_milk() -> None:
    """Coconut milk makes soap of its own, which no other line may take up."""
    by = recipe()
    plain, milky = masses(), masses(Part(key="coconut-milk", mass_g=100.0))
    names = [
        {line.name for line in declare(m, bar_at_pack(m, by), by, market="eu", on=AUTUMN).lines}
        for m in (plain, milky)
    ]
    assert names[1] - names[0] == {"Cocos Nucifera Fruit Extract"}
