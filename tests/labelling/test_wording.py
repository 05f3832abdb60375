"""A label's statements, each with its rule; a missing one is refused with the citation."""

from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest

from soapstock.errors import BadInput, NotFound, RuleBroken
from soapstock.labelling.claims import stopping
from soapstock.labelling.declaration import Declaration, Line
from soapstock.labelling.law import NoRuleInForce
from soapstock.labelling.netweight import net_weight
from soapstock.labelling.wording import LabelFacts, word_label
from soapstock.recipes.precautions import ready_phrase

LIST = Declaration(
    convention="poured",
    names="plain",
    lines=(Line(name="Beef tallow", mass_g=1.0, share_percent=100.0, group="main"),),
    text="Ingredients: Beef tallow",
    notes=(),
    confidence="read",
)


def facts(market: str = "us-soap", **changes: object) -> LabelFacts:
    """A label's facts, some changed."""
    base = LabelFacts(
        market=market,
        maker_name="Heronwick Saltings",
        maker_address=("1 Quay Lane", "Heronwick"),
        maker_contact="",
        recipe_name="Driftwood",
        identity="Soap",
        net_weight=net_weight(Decimal(113), market),
        declaration=LIST,
        lot_code="DRF-26329-AK",
        made_on=date(2026, 11, 25),
        best_before=date(2028, 5, 25),
        qr_text="DRF26329AK",
        responsible=("Greywater Quay Trading", "2 Basin Row", "Port Linden, Ireland"),
        origin="USA",
    )
    return replace(base, **changes)  # type: ignore[arg-type]


def test_a_true_soap_label_has_its_eight_statements() -> None:
    """Name, identity, weight, list, maker, lot, made and best before, in that order."""
    label = word_label(facts())
    assert [one.kind for one in label.statements] == [
        "name",
        "identity",
        "net_weight",
        "ingredients",
        "maker",
        "lot",
        "made",
        "best_before",
    ]
    assert label.text("net_weight") == "Net Wt 3.98 oz (113 g)"
    assert label.text("maker") == "Made by Heronwick Saltings, 1 Quay Lane, Heronwick"
    assert label.text("best_before") == "Best before 25 May 2028"


def test_each_statement_carries_its_rule() -> None:
    """The citation and how we know it stand with each statement."""
    weight = next(one for one in word_label(facts()).statements if one.kind == "net_weight")
    assert "16 CFR 500" in weight.rule
    assert weight.required
    assert weight.confidence == "read"


def test_the_eu_date_has_the_words_of_the_regulation() -> None:
    """Art. 19(1)(c): best used before the end of, with day, month and year."""
    assert word_label(facts("eu")).text("best_before") == "Best used before the end of 25 May 2028"


def test_an_eu_label_without_a_date_is_refused_with_the_article() -> None:
    """Up to thirty months the date is compulsory."""
    with pytest.raises(RuleBroken, match=r"Art\. 19\(1\)\(c\)"):
        word_label(facts("eu", best_before=None))


def test_months_after_opening_stand_in_for_the_date() -> None:
    """Above thirty months the label may give the months after opening."""
    label = word_label(facts("eu", best_before=None, opened_months=12))
    assert "12 months" in label.text("opened")


def test_true_soap_needs_no_date() -> None:
    """The statement is left out where the market does not ask for it."""
    assert not word_label(facts(best_before=None)).has("best_before")


@pytest.mark.parametrize(
    ("change", "word"),
    [
        ({"maker_name": " "}, "name"),
        ({"maker_address": ()}, "address"),
        ({"identity": ""}, "identity"),
    ],
)
def test_a_missing_required_statement_is_refused(change: dict[str, object], word: str) -> None:
    """No label leaves without maker, address and identity."""
    with pytest.raises(RuleBroken, match=word):
        word_label(facts(**change))


def test_canada_gets_its_identity_in_both_languages() -> None:
    """English and French on the principal display panel."""
    assert word_label(facts("ca")).text("identity") == "Soap / Savon"
    with pytest.raises(RuleBroken, match="English and French"):
        word_label(facts("ca", identity="Shaving soap"))


def test_canada_gets_every_statement_word_in_both_languages() -> None:
    """Dates, maker and precautions, whichever of the two is asked for."""
    for language in ("en", "fr", "en-fr"):
        label = word_label(
            facts("ca", language=language, precautions=(ready_phrase("avoid-eyes"),))
        )
        assert label.text("made") == "Made / Fabriqué 2026-11-25"
        assert label.text("best_before") == "Best before / Meilleur avant 2028-05-25"
        assert label.text("maker").startswith("Made by / Fabriqué par Heronwick Saltings")
        assert label.text("precautions").endswith("eyes. / Éviter le contact avec les yeux.")
        assert label.language == "en-CA"


def test_the_plain_word_for_soap_follows_the_label_s_language() -> None:
    """Art. 19(5): the function is told in the buyer's language; other words are the maker's."""
    assert word_label(facts("eu", language="de")).text("identity") == "Seife"
    own = word_label(facts("eu", language="de", identity="Olivenseife"))
    assert own.text("identity") == "Olivenseife"


def test_a_language_the_market_does_not_take_is_refused() -> None:
    """A German label is no label for the United States."""
    with pytest.raises(RuleBroken):
        word_label(facts(language="de"))


def test_a_german_label_speaks_german_but_for_its_ingredients() -> None:
    """Statement words follow the language; the list keeps its INCI names and heading."""
    label = word_label(facts("eu", language="de"))
    assert label.text("lot") == "Charge DRF-26329-AK"
    assert label.text("made") == "Hergestellt am 25. November 2026"
    assert label.text("ingredients") == LIST.text


def test_a_date_before_the_pour_is_refused() -> None:
    """Best before the day it was made is a slip."""
    with pytest.raises(BadInput):
        word_label(facts(best_before=date(2026, 11, 25)))


def test_a_label_for_a_day_without_rules_is_refused() -> None:
    """The table of Great Britain starts in 2021."""
    with pytest.raises(NoRuleInForce):
        word_label(facts("uk", on=date(2020, 12, 31)))


def test_the_run_s_caution_says_who_answers() -> None:
    """Every run says that rules differ by place and that the maker answers for the label."""
    assert "the maker answers" in word_label(facts()).cautions[0]


def test_asking_for_a_statement_that_is_not_there_is_an_error() -> None:
    """A face cannot quietly print nothing."""
    with pytest.raises(NotFound):
        word_label(facts()).text("opened")


def test_a_name_that_claims_is_told() -> None:
    """'Eczema bar' presents a remedy; the run says so and offers plainer words."""
    label = word_label(facts(recipe_name="Eczema Bar"))
    assert label.must_fix[0].startswith("'Eczema Bar' makes the bar a drug")
    assert [hit.becomes for hit in stopping(label.claims)] == ["drug"]


def test_a_scent_s_or_a_name_s_harmless_words_stop_nothing() -> None:
    """A note such as 'natural' is the maker's to prove; 'cured' is the trade's own word."""
    label = word_label(facts(recipe_name="Natural Driftwood, cured slowly"))
    assert (label.must_fix, stopping(label.claims)) == ((), ())


def test_what_must_be_mended_comes_gravest_first() -> None:
    """A drug before a pesticide before a cosmetic."""
    told = word_label(facts(recipe_name="Moisturizing Insect Repellent for Eczema")).must_fix
    assert [one.split(" makes the bar ")[1].split(":")[0] for one in told] == [
        "a drug",
        "a pesticide",
        "a cosmetic",
    ]


def test_an_address_without_a_zip_code_is_told_in_the_united_states() -> None:
    """16 CFR 500.5(c) asks for city, state and ZIP."""
    told = word_label(facts()).cautions
    good = word_label(facts(maker_address=("1 Quay Lane", "Heronwick, ME 04000"))).cautions
    assert any("ZIP" in caution for caution in told)
    assert not any("ZIP" in caution for caution in good)


def test_a_date_may_stand_with_its_sign_and_is_whole_without_it() -> None:
    """Art. 19(1)(c): the hourglass may stand in for the words; the words are there all the same."""
    date_said = next(one for one in word_label(facts("eu")).statements if one.kind == "best_before")
    assert (date_said.sign, date_said.sign_text) == ("hourglass", "25 May 2028")
    assert date_said.text.startswith("Best used")
    plain = next(one for one in word_label(facts()).statements if one.kind == "best_before")
    assert plain.sign == ""


def test_months_after_opening_go_in_the_open_jar() -> None:
    """12M."""
    label = word_label(facts("eu", best_before=None, opened_months=12))
    opened = next(one for one in label.statements if one.kind == "opened")
    assert (opened.sign, opened.sign_text) == ("open-jar", "12M")


def test_precautions_are_a_required_statement_when_there_are_any() -> None:
    """Art. 19(1)(d), between the list and the maker; without any, no such statement."""
    label = word_label(facts("eu", language="nl", precautions=(ready_phrase("avoid-eyes"),)))
    kinds = [one.kind for one in label.statements]
    assert kinds.index("precautions") == kinds.index("ingredients") + 1
    said = next(one for one in label.statements if one.kind == "precautions")
    assert said.text == "Let op: Contact met de ogen vermijden."
    assert said.required
    assert "Art. 19(1)(d)" in said.rule
    assert not word_label(facts("eu")).has("precautions")


def test_a_precaution_on_true_soap_is_the_maker_s_own_choice() -> None:
    """No rule asks for it there; it is printed all the same."""
    label = word_label(facts(precautions=(ready_phrase("avoid-eyes"),)))
    said = next(one for one in label.statements if one.kind == "precautions")
    assert (said.required, said.rule) == (False, "our own choice")


def test_a_rule_known_from_memory_behind_a_required_statement_is_told() -> None:
    """Canada's rule on precautions is from memory; without any it is not behind the label."""
    own = (ready_phrase("avoid-eyes"),)
    assert any("from memory" in one for one in word_label(facts("ca", precautions=own)).cautions)
    assert not any("from memory" in one for one in word_label(facts("ca")).cautions)


def test_the_maker_s_line_carries_the_contact_rule_too() -> None:
    """Canada and the United States' cosmetic rules ask for a contact of their own."""
    for market, law in (("ca", "SOR/2024-63"), ("us-cosmetic", "364e(a)")):
        maker = next(one for one in word_label(facts(market)).statements if one.kind == "maker")
        assert law in maker.rule
    plain = next(one for one in word_label(facts()).statements if one.kind == "maker")
    assert ";" not in plain.rule


# Regulation (EC) No 1223/2009 Art. 19(1)(a): the responsible person's name and address, and the
# country of origin of imported goods.
def test_an_eu_label_names_who_answers_for_it_and_where_it_is_from() -> None:
    """In the label's language, with the maker beside them."""
    assert word_label(facts("eu")).text("maker") == (
        "Heronwick Saltings. Responsible person: Greywater Quay Trading, 2 Basin Row,"
        " Port Linden, Ireland. Origin: USA"
    )
    assert "Origine : USA" in word_label(facts("eu", language="fr")).text("maker")


@pytest.mark.parametrize("market", ["eu", "uk"])
@pytest.mark.parametrize(
    ("lacking", "said"),
    [
        ({"responsible": ()}, "responsible person"),
        ({"origin": " "}, "country of origin"),
        ({"responsible": ("A name alone",)}, "responsible person"),
    ],
)
def test_without_them_it_is_refused_with_the_article(
    market: str, lacking: dict[str, object], said: str
) -> None:
    """A note did not keep such a label from being printed."""
    with pytest.raises(RuleBroken, match=said) as caught:
        word_label(facts(market, **lacking))
    assert "19(1)(a)" in caught.value.message
    assert f"[markets.{market}]" in caught.value.hint


def test_a_maker_at_home_there_answers_alone() -> None:
    """Neither a second name nor an origin is asked of goods that are not imported."""
    home = ("Heronwick Saltings", "1 Quay Lane", "Heronwick")
    label = word_label(facts("eu", responsible=home, origin=""))
    assert label.text("maker") == "Made by Heronwick Saltings, 1 Quay Lane, Heronwick"


def test_other_markets_ask_for_neither() -> None:
    """True soap in the United States."""
    assert word_label(facts(responsible=(), origin="")).text("maker").startswith("Made by")


# Regulation (EC) No 1223/2009 Art. 19(1)(c): no date where it keeps more than 30 months, but the
# months of use after opening.
@pytest.mark.parametrize(
    ("ends", "long"),
    [(date(2029, 5, 24), False), (date(2029, 5, 25), False), (date(2029, 5, 26), True)],
)
def test_more_than_thirty_months_want_the_months_after_opening(ends: date, long: bool) -> None:
    """Poured 25 November 2026: thirty months end on 25 May 2029."""
    if long:
        with pytest.raises(RuleBroken, match=r"more than 30 months.*19\(1\)\(c\)"):
            word_label(facts("eu", best_before=ends))
    label = word_label(facts("eu", best_before=ends, opened_months=12))
    assert label.has("opened") is long
    dated = next(one for one in label.statements if one.kind == "best_before")
    assert dated.required is not long
    assert (dated.sign == "hourglass") is not long


# 21 CFR 701.20(a)(2): soap is what is labelled, sold and represented only as soap.
@pytest.mark.parametrize(
    ("identity", "soap"),
    [
        ("Soap", True),
        ("Shaving soap", True),
        ("Savon de Marseille", True),
        ("Handseife", True),
        ("Beauty Cleansing Bar", False),
        ("Cleansing bar", False),
        ("Soap-free bar", False),
        ("Soapless cleanser", False),
        ("Syndet", False),
    ],
)
def test_true_soap_is_called_soap(identity: str, soap: bool) -> None:
    """Anything else is a cosmetic there, and is told so; a cosmetic may be called as it likes."""
    if soap:
        assert word_label(facts(identity=identity)).has("identity")
    else:
        with pytest.raises(RuleBroken, match=r"701\.20"):
            word_label(facts(identity=identity))
    assert word_label(facts("us-cosmetic", identity=identity, maker_contact="a@b.example"))


def test_precautions_stand_under_their_own_heading() -> None:
    """They followed the ingredients as if they were one."""
    label = word_label(facts(precautions=(ready_phrase("avoid-eyes"),)))
    assert label.text("precautions").startswith("Caution: ")
