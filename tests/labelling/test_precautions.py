"""Precautions on a label: the maker's own, the tied ones, and the languages they need."""

from datetime import date, timedelta

import pytest

from soapstock.errors import RuleBroken
from soapstock.labelling.allergens import AllergenAmount, allergens_in
from soapstock.labelling.claims import check_claims
from soapstock.labelling.law import get_market, markets
from soapstock.labelling.precautions import Precautions, precautions_on
from soapstock.recipes.precautions import Precaution, phrases, ready_phrase

DAY = date(2026, 11, 25)
START = date(2022, 12, 17)
OWN = Precaution(words=(("en", "Store it dry."), ("fr", "Garder au sec.")))


def wintergreen(market: str) -> tuple[AllergenAmount, ...]:
    """Allergens of a kilogram of soap with a tenth of a gram of wintergreen oil."""
    return allergens_in({"wintergreen-oil": 0.1}, 1000.0, market=market, on=DAY)


def on_label(
    market: str,
    *,
    own: tuple[Precaution, ...] = (),
    found: tuple[AllergenAmount, ...] = (),
    day: date = DAY,
    languages: tuple[str, ...] = ("en",),
) -> Precautions:
    """The precautions of a label."""
    return precautions_on(own, found, get_market(market), day, languages)


@pytest.mark.parametrize("market", markets())
def test_a_bar_without_any_has_none(market: str) -> None:
    """Nothing stands on the label unasked."""
    assert on_label(market).text == ""


def test_methyl_salicylate_brings_its_precaution_in_the_eu() -> None:
    """Annex III entry 324: not for children under 6; any share counts."""
    made = on_label("eu", found=wintergreen("eu"))
    assert made.text == "Not for children under 6 years."
    assert "Art. 19(1)(d)" in made.citation
    assert "entry 324" in made.citation
    assert made.confidence == "interpretation"


def test_the_tied_precaution_starts_on_its_day() -> None:
    """Regulation (EU) 2022/1531, day from memory: not the day before."""
    assert on_label("eu", found=wintergreen("eu"), day=START).text
    assert not on_label("eu", found=wintergreen("eu"), day=START - timedelta(days=1)).text


def test_another_scent_or_market_brings_none() -> None:
    """Lavender holds no methyl salicylate, and true soap has no such rule."""
    lavender = allergens_in({"lavender-oil": 5.0}, 1000.0, market="eu", on=DAY)
    assert not on_label("eu", found=lavender).text
    assert not on_label("us-soap", found=wintergreen("us-soap")).text


def test_the_same_precaution_asked_for_twice_stands_once() -> None:
    """The recipe may name what the law ties anyway."""
    own = (ready_phrase("not-under-6"), OWN)
    made = on_label("eu", own=own, found=wintergreen("eu"))
    assert made.text == "Not for children under 6 years. Store it dry."


def test_canada_has_each_in_both_languages() -> None:
    """All in English first, then all in French."""
    made = on_label("ca", own=(OWN, ready_phrase("avoid-eyes")), languages=("en", "fr"))
    assert made.text == (
        "Store it dry. Avoid contact with the eyes."
        " / Garder au sec. Éviter le contact avec les yeux."
    )


def test_own_words_missing_in_the_label_s_language_are_refused() -> None:
    """Nothing is translated by guess; the hint shows what to write."""
    with pytest.raises(RuleBroken, match="no words in 'de'") as caught:
        on_label("eu", own=(OWN,), languages=("de",))
    assert 'de = "..."' in caught.value.hint


@pytest.mark.parametrize("market", markets())
def test_no_ready_phrase_is_itself_a_claim(market: str) -> None:
    """Our own words must not turn the bar into a drug."""
    text = " ".join(ready_phrase(key).text("en") or "" for key in phrases())
    assert check_claims(text, market) == ()
