"""Statement words by language."""

from datetime import date

import pytest

from soapstock.errors import BadInput
from soapstock.labelling.words import date_text, languages, words_of


def test_every_language_has_every_word() -> None:
    """A statement must not fail for want of a word in one language."""
    keys = {frozenset(words_of(language)) for language in languages()}
    assert len(keys) == 1
    assert all(len(words_of(language)["months"]) == 12 for language in languages())


def test_the_five_languages_are_there() -> None:
    """English, French, German, Spanish and Dutch."""
    assert set(languages()) == {"en", "fr", "de", "es", "nl"}


@pytest.mark.parametrize(
    ("language", "text"),
    [
        ("en", "1 Mar 2027"),
        ("fr", "1 mars 2027"),
        ("de", "1. März 2027"),
        ("es", "1 de marzo de 2027"),
        ("nl", "1 maart 2027"),
    ],
)
def test_a_month_stands_in_words(language: str, text: str) -> None:
    """No reader can take the day for the month."""
    assert date_text(date(2027, 3, 1), language) == text


def test_an_unknown_language_is_refused() -> None:
    """We have no words for it."""
    with pytest.raises(BadInput):
        words_of("la")
