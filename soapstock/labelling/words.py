"""Words and dates of a label's statements, by language."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any, cast

from soapstock.errors import BadInput
from soapstock.tables import read_toml

_SHAPES = {
    "en": "{day} {month} {year}",
    "fr": "{day} {month} {year}",
    "de": "{day}. {month} {year}",
    "es": "{day} de {month} de {year}",
    "nl": "{day} {month} {year}",
    "en-fr": "{year}-{month}-{day:02}",
}


def languages() -> tuple[str, ...]:
    """The languages whose words are known; `en-fr` prints two at once."""
    return tuple(read_toml("names/words.toml")["words"])


def label_language(taken: Sequence[str], language: str) -> str:
    """The language of the printed words: both at once where a market wants both.

    Args:
        taken: languages the market takes, such as ("en", "de") or ("en-fr",).
        language: the one asked for.

    >>> label_language(("en-fr",), "fr"), label_language(("en", "fr"), "fr")
    ('en-fr', 'fr')
    """
    return next((one for one in taken if language in one.split("-")), language)


def words_of(language: str) -> Mapping[str, Any]:
    """The statement words of a language. Raises BadInput for one we have no words for."""
    table = cast("Mapping[str, Mapping[str, Any]]", read_toml("names/words.toml")["words"])
    if language not in table:
        raise BadInput(f"language '{language}' is unknown", hint=f"one of {', '.join(table)}")
    return table[language]


def date_text(day: date, language: str = "en") -> str:
    """A date with its month in words, or year first, so that none can swap day and month.

    >>> date_text(date(2026, 11, 25))
    '25 Nov 2026'
    >>> date_text(date(2026, 11, 25), "es")
    '25 de noviembre de 2026'
    >>> date_text(date(2026, 11, 5), "en-fr")
    '2026-11-05'
    """
    month = words_of(language)["months"][day.month - 1]
    short = month[:3] if language == "en" else month
    return _SHAPES[language].format(day=day.day, month=short, year=day.year)
