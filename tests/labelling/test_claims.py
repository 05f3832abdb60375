"""Claims: whole words, their endings, what stands near, and denials."""

import sys
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from soapstock.errors import BadInput
from soapstock.labelling.claims import MAX_CHARACTERS, _covers, check_claims, verdict


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


def test_a_condition_in_another_clause_is_no_treatment() -> None:
    """A verb and a condition must stand in one clause; a disease named alone is told as that."""
    assert found("We treat our sheep well. My aunt had burns.") is None
    hits = check_claims("We treat our sheep well. My aunt had eczema.", "us-soap")
    assert [(hit.claim_id, hit.phrase) for hit in hits] == [("names-disease", "eczema")]


def test_a_disease_in_a_treatment_is_told_once() -> None:
    """21 USC 321(g)(1): one claim, one line, also where two languages share the disease's name."""
    for market in ("us-soap", "eu"):
        assert [hit.claim_id for hit in check_claims("Treats acne", market)] == ["treats-condition"]


def test_a_point_between_figures_ends_no_clause() -> None:
    """'Kills 99.9% of bacteria' is one clause; a point after a figure at a sentence's end parts."""
    assert found("Kills 99.9% of bacteria") == "drug"
    assert found("We wash at 60. Bacteria live in the compost.") is None


@pytest.mark.parametrize("text", ["anti-bacterial", "anti bacterial", "antibacterial"])
def test_a_hyphen_may_stand_be_left_out_or_be_a_space(text: str) -> None:
    """A word is no other for how it is joined."""
    assert found(text) == "drug"


def test_a_denial_in_a_compound_reaches_no_further() -> None:
    """'Non-drying' denies the drying alone; 'non-antibacterial' its own word."""
    assert found("A non-drying antibacterial bar") == "drug"
    assert found("A non-antibacterial bar") is None


def test_a_word_with_free_joined_to_it_is_told() -> None:
    """Whatever it is free of: (EU) No 655/2013 Annex, 5 on fairness."""
    assert [hit.phrase for hit in check_claims("palm-free soap", "eu", "en")] == ["palm-free"]
    assert found("Free parking, free coffee") is None


def test_germs_on_a_table_are_another_law_s_than_germs_on_a_hand() -> None:
    """7 USC 136(t) leaves out microbes on living man; 40 CFR 152.3; (EU) No 528/2012 Art. 3(1)."""
    hand, table = (
        check_claims(f"Antibacterial for {one}", "us-soap")[0] for one in ("hands", "worktops")
    )
    assert (hand.becomes, table.becomes) == ("drug", "pesticide")
    assert "136(u)" in table.citation
    assert "528/2012" in check_claims("Antibacterial for worktops", "eu", "en")[0].citation


def test_the_work_grows_with_the_text_alone() -> None:
    """Calls counted, not seconds: four times the text costs about four times as many."""

    def calls(times: int) -> int:
        text = "It kills germs and treats acne on skin and cures eczema all year " * times
        count = 0

        def counted(_frame: object, event: str, _arg: object) -> None:
            nonlocal count
            count += event == "call"

        sys.setprofile(counted)
        try:
            check_claims(text, "us-soap")
        finally:
            sys.setprofile(None)
        return count

    calls(1)  # the lists are read once
    assert calls(160) < 4.4 * calls(40)


def test_a_hit_quotes_no_more_than_a_line_or_two() -> None:
    """A page without a full stop would else be told once for each hit."""
    hit = check_claims("word " * 5000 + "heals" + " word" * 5000, "us-soap")[0]
    assert "heals" in hit.context
    assert len(hit.context) < 150


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
        check_claims("x" * (MAX_CHARACTERS + 1), "us-soap")


@given(st.text(max_size=300))
def test_any_text_is_survived_and_every_phrase_is_in_it(text: str) -> None:
    """No text breaks the check, and a hit quotes the text itself."""
    for hit in check_claims(text, "us-soap"):
        assert hit.phrase in text
