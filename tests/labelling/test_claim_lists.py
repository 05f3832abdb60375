"""The lists of claims by language: whole, understood, and bent by their own grammar."""

import pytest

from soapstock.errors import BadInput
from soapstock.labelling.claim_lists import (
    claim_languages,
    claims_of,
    fold,
    forms,
    grammar_of,
    languages_for,
)
from soapstock.labelling.claims import check_claims

OTHERS = [one for one in claim_languages() if one != "en"]


def test_five_languages_have_a_list() -> None:
    """Those of the label's statement words."""
    assert claim_languages() == ("en", "fr", "de", "es", "nl")


@pytest.mark.parametrize("language", OTHERS)
def test_every_claim_of_the_english_list_is_in_the_others(language: str) -> None:
    """All but the words beside the net weight, which are a United States rule."""
    english = {claim.claim_id for claim in claims_of("en")}
    assert {claim.claim_id for claim in claims_of(language)} == english - {"qualified-weight"}


@pytest.mark.parametrize("language", claim_languages())
def test_no_list_has_an_id_or_a_phrase_twice_in_one_claim(language: str) -> None:
    """A slip in the table."""
    claims = claims_of(language)
    assert len({claim.claim_id for claim in claims}) == len(claims)
    for claim in claims:
        assert len(set(claim.words)) == len(claim.words), claim.claim_id


@pytest.mark.parametrize("language", claim_languages())
def test_no_phrase_begins_or_ends_with_a_gap(language: str) -> None:
    """A bare star stands between words."""
    for claim in claims_of(language):
        for phrase in (*claim.words, *claim.near, *claim.unless):
            assert "*" not in (phrase[0], phrase[-1])


@pytest.mark.parametrize("language", OTHERS)
def test_every_phrase_of_a_list_is_found_by_it(language: str) -> None:
    """Each phrase, written out as a text of its own, is a hit of its claim or of a graver one."""
    for claim in claims_of(language):
        near = " ".join(claim.near[0]).replace("~", "").replace("*", "") if claim.near else ""
        for phrase in claim.words:
            words = " ".join("x" if part == "*" else part.rstrip("~*") for part in phrase)
            hits = check_claims(f"{words} {near}", "us-soap", language)
            assert hits, (claim.claim_id, phrase)


@pytest.mark.parametrize("language", claim_languages())
def test_no_plainer_wording_is_itself_a_drug_or_cosmetic_claim(language: str) -> None:
    """What we offer instead must be clean."""
    for claim in claims_of(language):
        quoted = claim.plainer.replace("pH", "")
        hits = check_claims(quoted, "us-soap", language)
        counted = [hit for hit in hits if hit.becomes != "note" and not hit.denied]
        assert counted == [], (claim.claim_id, counted)


def test_the_market_gives_the_languages() -> None:
    """One in the United States, two in Canada, five in the EU."""
    assert languages_for("us-soap", None) == ("en",)
    assert languages_for("ca", None) == ("en", "fr")
    assert languages_for("eu", None) == ("en", "fr", "de", "es", "nl")
    assert languages_for("us-soap", "ES") == ("es",)
    assert languages_for("ca", "en-fr") == ("en", "fr")


def test_a_language_without_a_list_is_refused() -> None:
    """Silence would look like a clean text."""
    with pytest.raises(BadInput, match="'it'"):
        languages_for("eu", "it")


def test_accents_capitals_and_the_sharp_s_are_passed_over() -> None:
    """Also when an accent is written as a mark of its own."""
    assert fold("GUÉRIT") == fold("gue\u0301rit") == "guerit"
    assert fold("Fußpilz") == fold("FUSSPILZ")


def test_each_language_bends_its_own_words() -> None:
    """Endings come from the grammar; only English doubles a letter."""
    assert {"traite", "traitement", "traitant"} <= forms("trait", "fr")
    assert {"linderung", "lindert"} <= forms("linder", "de")
    assert "stirring" in forms("stir", "en")
    assert "stirring" not in forms("stir", "nl")
    assert grammar_of("es").after_reach == 0
