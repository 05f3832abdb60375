"""The lists of claims by language, and how each language bends and denies words.

Data: tables/law/claims.toml (English words, and what each claim becomes and why),
claims-<language>.toml (the same claims in other words), claims_grammar.toml.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import product
from typing import Any, Literal, cast

from soapstock.errors import BadInput, BadTable
from soapstock.labelling.law import get_market
from soapstock.tables import read_toml

TABLE = "law/claims.toml"
GRAMMAR = "law/claims_grammar.toml"
Becomes = Literal["drug", "pesticide", "false", "cosmetic", "quantity", "note"]
RANK: Mapping[str, int] = {
    one: rank
    for rank, one in enumerate(("drug", "pesticide", "false", "cosmetic", "quantity", "note"))
}
Phrase = tuple[str, ...]
Role = Literal["words", "near", "not_near", "unless"]
ROLES: tuple[Role, ...] = ("words", "near", "not_near", "unless")
Entry = tuple[int, Role, Phrase]
_OTHER_KEYS = {"id", *ROLES, "plainer"}
_KEYS = _OTHER_KEYS | {"becomes", "why", "confidence", "markets", "citation", "yields_to"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Grammar:
    """How a language bends words and denies them; see the head of claims_grammar.toml."""

    language: str
    endings: tuple[str, ...]
    doubled: tuple[str, ...]
    reach: int
    before: frozenset[str]
    before_suffix: str
    after_reach: int
    after: frozenset[str]
    cancels: tuple[Phrase, ...]
    ends: tuple[str, ...]
    walls: frozenset[str]
    comma_walls: bool
    apostrophes: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Claim:
    """One claim in the words of one language, with what the table says of it."""

    claim_id: str
    language: str
    becomes: Becomes
    words: tuple[Phrase, ...]
    near: tuple[Phrase, ...]
    not_near: tuple[Phrase, ...]
    unless: tuple[Phrase, ...]
    yields_to: frozenset[str]
    why: str
    plainer: str
    confidence: str
    markets: tuple[str, ...] | None
    citation: str


def fold(text: str) -> str:
    """The text in small letters, without accents (a German sharp s becomes ss)."""
    parts = unicodedata.normalize("NFD", text.casefold())
    return "".join(char for char in parts if not unicodedata.combining(char))


def claim_languages() -> tuple[str, ...]:
    """The languages that have a list."""
    return tuple(read_toml(GRAMMAR)["grammar"])


def languages_for(market: str, language: str | None) -> tuple[str, ...]:
    """The languages whose lists a text is held against: the one asked for, or the market's.

    Raises:
        BadInput: unknown market, or no list in that language.
    """
    known = claim_languages()
    if language is not None:
        asked = tuple(dict.fromkeys(language.lower().split("-")))
        if not set(asked) <= set(known):
            raise BadInput(
                f"no list of claims in language '{language}'", hint=f"one of {', '.join(known)}"
            )
        return asked
    taken = (part for one in get_market(market).languages for part in one.split("-"))
    return tuple(one for one in dict.fromkeys(taken) if one in known)


def _phrases(texts: Sequence[str]) -> tuple[Phrase, ...]:
    """The phrases, each word with a hyphen both parted at it and written as one."""
    return tuple(
        tuple(part for word in spelled for part in word)
        for text in texts
        for spelled in product(*(_spellings(word) for word in fold(text).split()))
    )


def _spellings(word: str) -> tuple[Phrase, ...]:
    if "-" not in word[1:]:
        return ((word,),)  # `-free`: a word that a hyphen joins to the one before it
    return (tuple(word.split("-")), (word.replace("-", ""),))


@cache
def grammar_of(language: str) -> Grammar:
    """The grammar of a language that has a list."""
    row = cast("dict[str, Any]", read_toml(GRAMMAR)["grammar"][language])
    return Grammar(
        language=language,
        endings=tuple(fold(one) for one in row["endings"]),
        doubled=tuple(row["doubled"]),
        reach=row["reach"],
        before=frozenset(fold(one) for one in row["before"]),
        before_suffix=row.get("before_suffix", ""),
        after_reach=row["after_reach"],
        after=frozenset(fold(one) for one in row["after"]),
        cancels=_phrases(row["cancels"]),
        ends=tuple(row["ends"]),
        walls=frozenset(row["walls"]),
        comma_walls=row["comma_walls"],
        apostrophes=row["apostrophes"],
    )


def _refuse_strange(name: str, row: Mapping[str, Any], known: set[str]) -> None:
    if set(row) - known or "id" not in row or not row.get("words"):
        raise BadTable(f"tables/{name}: claim '{row.get('id')}' is not understood")


@cache
def claims_of(language: str) -> tuple[Claim, ...]:
    """The list of a language.

    Raises:
        BadTable: a row with a strange key, or one that claims.toml does not know.
    """
    base = {row["id"]: row for row in read_toml(TABLE)["claims"]}
    name = TABLE if language == "en" else f"law/claims-{language}.toml"
    table = read_toml(name)
    found = []
    for row in table["claims"]:
        _refuse_strange(name, row, _KEYS if language == "en" else _OTHER_KEYS)
        about = base.get(row["id"])
        if about is None or about.get("becomes") not in RANK:
            raise BadTable(f"tables/{name}: claim '{row['id']}' is not understood")
        found.append(
            Claim(
                claim_id=row["id"],
                language=language,
                becomes=about["becomes"],
                words=_phrases(row["words"]),
                near=_phrases(row.get("near", ())),
                not_near=_phrases(row.get("not_near", ())),
                unless=_phrases(row.get("unless", ())),
                yields_to=frozenset(about.get("yields_to", ())),
                why=about["why"],
                plainer=row["plainer"],
                confidence=row.get("confidence", table["confidence"]),
                markets=tuple(about["markets"]) if "markets" in about else None,
                citation=about.get("citation", ""),
            )
        )
    return tuple(found)


@dataclass(frozen=True, slots=True)
class Index:
    """The phrases of a list by how their first word reads, or begins (by its length)."""

    exact: Mapping[str, tuple[Entry, ...]]
    prefixes: Mapping[int, Mapping[str, tuple[Entry, ...]]]


@cache
def index_of(language: str) -> Index:
    """The phrases of a language's list, to be looked up by a first word."""
    exact: dict[str, list[Entry]] = {}
    prefixes: dict[int, dict[str, list[Entry]]] = {}
    for place, claim in enumerate(claims_of(language)):
        for role in ROLES:
            for phrase in getattr(claim, role):
                head, entry = phrase[0], (place, role, phrase)
                if head.endswith("*"):
                    table = prefixes.setdefault(len(head) - 1, {})
                    table.setdefault(head[:-1], []).append(entry)
                    continue
                for form in forms(head[:-1], language) if head.endswith("~") else (head,):
                    exact.setdefault(form, []).append(entry)
    return Index(
        {form: tuple(found) for form, found in exact.items()},
        {
            length: {head: tuple(found) for head, found in table.items()}
            for length, table in prefixes.items()
        },
    )


@cache
def forms(stem: str, language: str) -> frozenset[str]:
    """A word and its endings in a language; spellings that no one uses do no harm."""
    grammar = grammar_of(language)
    found = {stem + ending for ending in grammar.endings}
    if language == "en":
        if stem.endswith("e"):
            found |= {stem[:-1] + ending for ending in grammar.doubled}
        if stem.endswith("y"):
            found |= {stem[:-1] + ending for ending in ("ies", "ied")}
        found |= {stem + stem[-1] + ending for ending in grammar.doubled}
    return frozenset(found)
