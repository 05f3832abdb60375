"""Statement words by language."""

from datetime import date

import pytest

from soapstock.errors import BadInput
from soapstock.labelling.words import date_text, label_language, languages, words_of
from soapstock.tables import read_toml


def test_every_language_has_every_word() -> None:
    """A statement must not fail for want of a word in one language."""
    keys = {frozenset(words_of(language)) for language in languages()}
    assert len(keys) == 1
    assert all(len(words_of(language)["months"]) == 12 for language in languages())


def test_the_five_languages_are_there() -> None:
    """English, French, German, Spanish and Dutch, and Canada's two at once."""
    assert set(languages()) == {"en", "fr", "de", "es", "nl", "en-fr"}


@pytest.mark.parametrize("asked", ["en", "fr", "en-fr"])
def test_a_market_of_two_languages_gets_both_whichever_is_asked(asked: str) -> None:
    """Canada's label is never in one language."""
    assert label_language(("en-fr",), asked) == "en-fr"


def test_a_market_of_many_languages_gets_the_one_asked() -> None:
    """The EU takes one of five."""
    assert label_language(("en", "fr", "de"), "fr") == "fr"


def test_every_bilingual_word_holds_its_english_or_is_alike_in_both() -> None:
    """Both official languages, parted by a stroke, or one word that is the same in both."""
    both, french = words_of("en-fr"), words_of("fr")
    for key in ("made", "best_before", "made_by", "soap", "ingredients", "after_opening"):
        assert " / " in both[key]
    assert both["lot"] == french["lot"] == words_of("en")["lot"]


@pytest.mark.parametrize(
    ("language", "text"),
    [
        ("en", "1 Mar 2027"),
        ("fr", "1 mars 2027"),
        ("de", "1. März 2027"),
        ("es", "1 de marzo de 2027"),
        ("nl", "1 maart 2027"),
        ("en-fr", "2027-03-01"),
    ],
)
def test_a_month_stands_in_words_or_after_the_year(language: str, text: str) -> None:
    """No reader can take the day for the month."""
    assert date_text(date(2027, 3, 1), language) == text


def test_an_unknown_language_is_refused() -> None:
    """We have no words for it."""
    with pytest.raises(BadInput):
        words_of("la")


def test_the_legal_phrases_of_other_languages_say_that_they_are_from_memory() -> None:
    """Regulation (EC) No 1223/2009 Art. 19(1)(c) in de, es, fr, nl: not read, so so marked."""
    assert read_toml("names/words.toml")["confidence"] == "from memory"
