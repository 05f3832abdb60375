"""Names of ingredients."""

import pytest

from soapstock.chemistry.fats import all_fats
from soapstock.errors import BadInput, NotFound
from soapstock.labelling.names import all_materials, find_material, label_case, name_of


@pytest.mark.parametrize(
    ("key", "style", "salt", "name"),
    [
        ("beef-tallow", "plain", None, "Beef tallow"),
        ("coconut", "eu", "sodium", "Sodium Cocoate"),
        ("coconut", "plain", "sodium", "Saponified coconut oil"),
        ("water", "eu", None, "Aqua"),
        ("water", "us", None, "Water"),
        ("naoh", "eu", None, "Sodium Hydroxide"),
        ("titanium-dioxide", "eu", None, "CI 77891"),
        ("titanium-dioxide", "us", None, "Titanium Dioxide"),
        ("Lavender", "eu", None, "Lavandula Angustifolia Oil"),
    ],
)
def test_an_ingredient_is_named_in_its_style(
    key: str, style: str, salt: str | None, name: str
) -> None:
    """INCI for the EU, US habit, or plain English."""
    assert name_of(key, style=style, as_salt=salt) == name  # type: ignore[arg-type]


def test_an_unknown_addition_offers_near_keys() -> None:
    """A misspelt key gets the likely ones and the way out."""
    with pytest.raises(NotFound) as caught:
        name_of("koalin", style="eu")
    assert "kaolin" in caught.value.hint
    assert "label_name" in caught.value.hint


def test_a_soap_without_a_listed_name_is_refused() -> None:
    """Rice bran soap has no glossary entry: no name is made up for it."""
    with pytest.raises(NotFound, match="sodium soap"):
        name_of("rice-bran", style="eu", as_salt="sodium")


def test_a_material_forms_no_soap() -> None:
    """Asking for the soap of kaolin is a slip."""
    with pytest.raises(BadInput):
        name_of("kaolin", style="eu", as_salt="sodium")


def test_an_unknown_style_is_refused() -> None:
    """Only three styles exist."""
    with pytest.raises(BadInput):
        name_of("water", style="latin")


def test_no_material_takes_a_fat_s_key() -> None:
    """A key names one thing in the whole program."""
    taken = set(all_fats()) & {a for m in all_materials().values() for a in (m.key, *m.aliases)}
    assert taken == set()


def test_capitals_become_words_and_ci_numbers_stay() -> None:
    """Glossary capitals are set as words."""
    assert label_case("ADEPS BOVIS") == "Adeps Bovis"
    assert label_case("CI 77891") == "CI 77891"


def test_every_alias_finds_its_material() -> None:
    """Aliases, spaces and capitals all lead to the material."""
    for material in all_materials().values():
        for alias in material.aliases:
            assert find_material(alias.replace("-", " ").upper()) is material
