"""Claims: whole words, their endings, what stands near, and denials."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from soapstock.errors import BadInput
from soapstock.labelling.claims import _covers, check_claims, verdict


def found(text: str, market: str = "us-soap") -> str | None:
    """What the text makes of the bar."""
    return verdict(check_claims(text, market))


@pytest.mark.parametrize(
    "text",
    [
        "A plain bar of soap that cleans.",
        "Cured for 35 days on ash racks.",
        "Smells of lavender and cedarwood.",
        "Made with olive oil, tallow and kaolin clay.",
        "We treat every customer as a neighbour.",
        "Our health inspector called.",
        "The lye is dissolved in water; the curing room is dry.",
        "A creamy lather.",
        "Heather honey from the moor.",
        "Free parking behind the barn.",
        "A beautiful swirl in every bar.",
        "The spots of madder are clearly seen.",
        "We wash all sanitised equipment twice.",
    ],
)
def test_honest_words_are_left_alone(text: str) -> None:
    """Cleaning, ingredients, scent and the trade's own words make nothing but soap."""
    assert found(text) is None


@pytest.mark.parametrize(
    ("text", "becomes"),
    [
        ("Moisturizing bar", "cosmetic"),
        ("It moisturises as it cleans", "cosmetic"),
        ("leaves your skin soft", "cosmetic"),
        ("DEODORIZING SOAP", "cosmetic"),
        ("Exfoliates gently", "cosmetic"),
        ("for younger looking hands", "cosmetic"),
        ("It makes you smell nice", "cosmetic"),
        ("nourishes and replenishes", "cosmetic"),
        ("Treats acne", "drug"),
        ("treating your eczema", "drug"),
        ("Great for psoriasis", "drug"),
        ("kills germs", "drug"),
        ("kills 99 % of bacteria", "drug"),
        ("Anti\u2011bacterial", "drug"),
        ("an antiseptic bar", "drug"),
        ("healing herbs", "drug"),
        ("It heals", "drug"),
        ("No more eczema!", "drug"),
        ("Net weight when packed 4 oz", "quantity"),
    ],
)
def test_a_claim_is_found_in_any_ending(text: str, becomes: str) -> None:
    """British and American spelling, capitals, plurals and hyphens."""
    assert found(text) == becomes


@pytest.mark.parametrize(
    "text",
    [
        "It does not treat eczema.",
        "This soap doesn\u2019t moisturize.",
        "We never claim that it heals.",
        "Not antibacterial.",
        "No deodorant in it.",
        "Made without moisturizers.",
    ],
)
def test_a_denied_claim_is_told_but_does_not_count(text: str) -> None:
    """A negation before the phrase denies it."""
    hits = check_claims(text, "us-soap")
    assert hits
    assert all(hit.denied for hit in hits)
    assert verdict(hits) is None


@pytest.mark.parametrize(
    "text", ["Not only moisturizing: it lathers.", "Not just a soap but antibacterial."]
)
def test_not_only_denies_nothing(text: str) -> None:
    """'Not only' and 'not just' make the claim all the louder."""
    assert found(text) is not None


def test_a_negation_stays_in_its_own_clause() -> None:
    """'No palm oil. Moisturizing.' denies the palm oil alone."""
    assert found("No palm oil. Moisturizing.") == "cosmetic"
    assert found("It is not scented but heals wounds.") == "drug"


def test_a_condition_alone_in_another_clause_is_no_treatment() -> None:
    """A verb and a condition must stand in one clause."""
    assert found("We treat our sheep well. My aunt had eczema.") is None


def test_a_hit_says_where_and_how_to_mend_it() -> None:
    """Line, column, phrase, citation and plainer words."""
    hit = check_claims("Plain soap.\nIt moisturizes skin.", "us-soap")[0]
    assert (hit.line, hit.column, hit.phrase) == (2, 4, "moisturizes")
    assert "701.20" in hit.citation
    assert hit.plainer


def test_a_cosmetic_market_lets_cosmetic_claims_stand() -> None:
    """Moisturizing is what a cosmetic may say; treating acne is not."""
    for market in ("us-cosmetic", "eu", "uk", "ca"):
        assert found("Moisturizing bar", market) is None
        assert found("Treats acne", market) == "drug"


def test_the_eu_criteria_come_as_notes() -> None:
    """'Free from' and 'hypoallergenic' are told with the claim criteria."""
    hits = check_claims("Hypoallergenic, chemical free", "eu")
    assert {hit.becomes for hit in hits} == {"note"}
    assert all("655/2013" in hit.citation for hit in hits)


def test_the_gravest_comes_first() -> None:
    """A drug claim outranks a cosmetic one further up the page."""
    assert check_claims("Moisturizing. Cures acne.", "us-soap")[0].becomes == "drug"


def test_words_within_a_longer_hit_are_told_once() -> None:
    """'gegen' (against) beside an illness is a claim; 'gegen Akne' says so whole."""
    assert [hit.phrase for hit in check_claims("gegen Akne", "us-soap", "de")] == ["gegen Akne"]


def test_a_graver_word_within_a_milder_phrase_is_still_told() -> None:
    """A phrase hides only what says no more than itself."""
    note = check_claims("not tested on animals", "us-soap")[0]
    inner = replace(note, phrase="tested", column=note.column + 4)
    assert _covers(note, inner)
    assert not _covers(note, replace(inner, becomes="drug"))
    assert not _covers(note, replace(inner, denied=True))
    assert not _covers(inner, note)


def test_a_huge_text_is_refused() -> None:
    """A page is checked, not a library."""
    with pytest.raises(BadInput):
        check_claims("x" * 1_000_001, "us-soap")


@given(st.text(max_size=300))
def test_any_text_is_survived_and_every_phrase_is_in_it(text: str) -> None:
    """No text breaks the check, and a hit quotes the text itself."""
    for hit in check_claims(text, "us-soap"):
        assert hit.phrase in text
