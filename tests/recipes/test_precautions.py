"""Precautions in a recipe: ready phrases, own words, and what is refused."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from soapstock.errors import BadInput, NotFound
from soapstock.labelling.words import languages
from soapstock.recipes.precautions import Precaution, phrases, ready_phrase
from soapstock.recipes.recipe import parse_recipe

RECIPE = """
code = "DRF"
name = "Driftwood"
superfat_percent = 5
water = "2 per lye"
{line}
[[fats]]
fat = "olive"
share_percent = 100
"""


def read(line: str) -> tuple[Precaution, ...]:
    """The precautions of a recipe with that line."""
    return parse_recipe(RECIPE.format(line=line), "r.toml").precautions


def test_a_recipe_without_the_key_has_none() -> None:
    """Nothing is put on a label unasked."""
    assert read("") == ()


def test_ready_and_own_words_stand_in_the_recipe_s_order() -> None:
    """A key, a sentence, and a table by language."""
    line = 'precautions = ["avoid-eyes", "Store it dry.", { en = "Mind.", fr = "Attention." }]'
    first, second, third = read(line)
    assert first.key == "avoid-eyes"
    assert (second.text("en"), second.text("fr")) == ("Store it dry.", None)
    assert third.text("fr") == "Attention."


@pytest.mark.parametrize("key", phrases())
def test_every_ready_phrase_is_a_sentence_in_every_label_language(key: str) -> None:
    """No language is left without the words, and no two share them."""
    phrase = ready_phrase(key)
    texts = [phrase.text(language) or "" for language in languages() if "-" not in language]
    assert all(text.endswith(".") and text[0].isupper() for text in texts)
    assert len(set(texts)) == len(texts)


def test_an_unknown_phrase_names_a_near_one() -> None:
    """A slip never prints as it stands."""
    with pytest.raises(BadInput, match=r"r\.toml:6: precautions: 'avoid-eye'") as caught:
        read('precautions = ["avoid-eye"]')
    assert "avoid-eyes" in caught.value.hint
    with pytest.raises(NotFound):
        ready_phrase("dragons")


@pytest.mark.parametrize(
    "line",
    [
        'precautions = "avoid-eyes"',
        "precautions = [3]",
        'precautions = [""]',
        'precautions = ["Two\\nlines here."]',
        "precautions = [{}]",
        'precautions = [{ la = "Cave." }]',
        'precautions = [{ en = "" }]',
        'precautions = ["avoid-eyes", "avoid-eyes"]',
        f'precautions = ["{"A word. " * 30}"]',
        f"precautions = {[f'Sentence {n}.' for n in range(9)]}",
    ],
)
def test_what_cannot_stand_on_a_label_is_refused_with_its_line(line: str) -> None:
    """File, line and field, and nothing printed."""
    with pytest.raises(BadInput, match=r"r\.toml:6: precautions"):
        read(line)


@given(st.text(max_size=60))
def test_any_sentence_is_read_or_refused(text: str) -> None:
    """No words end in a crash."""
    quoted = text.replace("\\", "\\\\").replace('"', '\\"')
    try:
        for one in read(f'precautions = ["{quoted}"]'):
            assert one.text("en")
    except BadInput:
        pass
