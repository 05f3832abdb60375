"""Precautions for use that a recipe states, in ready words or in the maker's own.

    precautions = ["avoid-eyes", "Rinse the floor after use.", { en = "...", fr = "..." }]

A word with hyphens is a ready phrase (tables/names/precautions.toml), known in every label
language; a sentence is the maker's own in English; a table gives own words by language.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Any, cast

from soapstock.errors import NotFound
from soapstock.tables import read_toml
from soapstock.tables.fields import Fields

TABLE = "names/precautions.toml"
MOST = 8
MOST_CHARACTERS = 200
_KEY = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")


@dataclass(frozen=True, slots=True, kw_only=True)
class Precaution:
    """One precaution: its words by language; `key` is empty for the maker's own."""

    key: str = ""
    words: tuple[tuple[str, str], ...]

    def text(self, language: str) -> str | None:
        """Its words in a language, or None when it has none."""
        return dict(self.words).get(language)


def phrases() -> tuple[str, ...]:
    """Keys of the ready phrases."""
    return tuple(read_toml(TABLE)["phrases"])


def ready_phrase(key: str) -> Precaution:
    """The ready phrase of that key. Raises NotFound, with near keys in the hint."""
    table = cast("Mapping[str, Mapping[str, str]]", read_toml(TABLE)["phrases"])
    if key not in table:
        near = get_close_matches(key, table, n=2, cutoff=0.5)
        raise NotFound(
            f"'{key}' is no ready precaution",
            hint=f"did you mean {' or '.join(near)}?"
            if near
            else f"ready are {', '.join(table)}; or write a sentence of your own",
        )
    return Precaution(key=key, words=tuple(table[key].items()))


def read_precautions(top: Fields) -> tuple[Precaution, ...]:
    """The precautions of a recipe's top table, in its order.

    Raises:
        BadInput: not a list, an unknown phrase or language, or words that cannot stand on a label.
    """
    rows = top.data.get("precautions", [])
    if not isinstance(rows, list) or len(rows) > MOST:
        raise top.fail(
            "precautions",
            f"is not a list of up to {MOST}",
            'write precautions = ["avoid-eyes", "Your own sentence."]',
        )
    found = tuple(_one(top, row) for row in rows)
    if len(set(found)) != len(found):
        raise top.fail("precautions", "one stands twice", "leave the second out")
    return found


def _one(top: Fields, row: Any) -> Precaution:
    if isinstance(row, str) and _KEY.fullmatch(row.strip()):
        try:
            return ready_phrase(row.strip())
        except NotFound as err:
            raise top.fail("precautions", err.message, err.hint) from err
    words = {"en": row} if isinstance(row, str) else row
    if not isinstance(words, Mapping) or not words:
        raise top.fail("precautions", f"'{row}' is no precaution", "write a sentence in quotes")
    known = read_toml(TABLE)["phrases"][phrases()[0]]
    for language, text in words.items():
        if language not in known:
            raise top.fail(
                "precautions", f"language '{language}' is unknown", f"one of {', '.join(known)}"
            )
        if not isinstance(text, str) or not text.strip() or len(text) > MOST_CHARACTERS:
            raise top.fail(
                "precautions",
                f"the words in '{language}' are not a text of 1 to {MOST_CHARACTERS} characters",
            )
        if any(ord(char) < ord(" ") for char in text):
            raise top.fail("precautions", "holds a line break or a control character", "one line")
    return Precaution(words=tuple((one, text.strip()) for one, text in words.items()))
