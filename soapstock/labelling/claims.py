"""Words on a label or a shop page that make soap a cosmetic or a drug, or that need proof.

The lists are data (labelling.claim_lists), one a language. A phrase is matched by whole words with
their endings, accents passed over; a denied one ("does not treat eczema") is reported as denied,
not as a claim, though a regulator may still ask why it stands there. Finding nothing does not prove
a text lawful.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache
from typing import Any

from soapstock.errors import BadInput
from soapstock.labelling.claim_lists import (
    RANK,
    TABLE,
    Becomes,
    Claim,
    Grammar,
    Phrase,
    claims_of,
    fold,
    forms,
    grammar_of,
    languages_for,
)
from soapstock.labelling.law import get_market
from soapstock.tables import read_toml

MAX_CHARACTERS = 1_000_000
_LETTERS = "0-9A-Za-z\u00c0-\u024f\u0300-\u036f\u1e9e"
_WORD = {
    True: re.compile(rf"[{_LETTERS}]+(?:[-'][{_LETTERS}]+)*|%"),
    False: re.compile(rf"[{_LETTERS}]+(?:-[{_LETTERS}]+)*|%"),
}
_STOPS = r"[.;:!?\u00a1\u00bf\n\r()\u2022\u2013\u2014]"
_GAP = 6  # most words that a bare * in a phrase stands for


@dataclass(frozen=True, slots=True, kw_only=True)
class ClaimHit:
    """One phrase that the list knows.

    Attributes:
        claim_id: the list's name for it; language: of the list.
        phrase: as written; context: the clause around it.
        line, column: where it starts, from 1.
        becomes: what the product becomes by it, or `quantity` / `note`.
        denied: a negation governs it.
        says, citation, confidence: what the law says, where, and how we know it.
        why, plainer: the reason, and words that are safe.
    """

    claim_id: str
    language: str
    phrase: str
    context: str
    line: int
    column: int
    becomes: Becomes
    denied: bool
    says: str
    citation: str
    confidence: str
    why: str
    plainer: str


@dataclass(frozen=True, slots=True)
class _Word:
    text: str
    start: int
    end: int


def _matches(pattern: str, word: str, language: str) -> bool:
    if pattern.endswith("~"):
        return word in forms(pattern[:-1], language)
    if pattern.endswith("*"):
        return word.startswith(pattern[:-1])
    return word == pattern


def _words(text: str, grammar: Grammar) -> list[_Word]:
    plain = text.replace("\u2019", "'").replace("\u2010", "-").replace("\u2011", "-")
    found = _WORD[grammar.apostrophes].finditer(plain)
    return [_Word(fold(m[0]), m.start(), m.end()) for m in found]


def _end_of(pattern: Phrase, words: Sequence[_Word], start: int, language: str) -> int | None:
    """Index after the pattern's last word if it stands at start; a bare * skips some words."""
    at = start
    for index, part in enumerate(pattern):
        if part == "*":
            rest = pattern[index + 1 :]
            for skip in range(1, _GAP + 1):
                end = _end_of(rest, words, at + skip, language)
                if end is not None:
                    return end
            return None
        if at >= len(words) or not _matches(part, words[at].text, language):
            return None
        at += 1
    return at


def _spans(
    patterns: Sequence[Phrase], words: Sequence[_Word], language: str
) -> list[tuple[int, int]]:
    return [
        (start, end)
        for start in range(len(words))
        for pattern in patterns
        if (end := _end_of(pattern, words, start, language)) is not None
    ]


@dataclass(frozen=True, slots=True)
class _Clause:
    """One clause, its words, and where it begins in the text."""

    offset: int
    text: str
    words: tuple[_Word, ...]
    grammar: Grammar

    def negates(self, index: int, negations: frozenset[str]) -> bool:
        """Whether the word there denies, and is not taken back as in `not only`."""
        grammar, word = self.grammar, self.words[index].text
        suffix = grammar.before_suffix
        if word not in negations and not (suffix and word.endswith(suffix)):
            return False
        after = tuple(one.text for one in self.words[index : index + 3])
        return not any(after[: len(phrase)] == phrase for phrase in grammar.cancels)

    def comma_after(self, index: int) -> bool:
        """Whether a comma that stops a denial stands after the word there."""
        if not self.grammar.comma_walls or index + 1 >= len(self.words):
            return False
        return "," in self.text[self.words[index].end : self.words[index + 1].start]

    def denied(self, start: int, end: int) -> bool:
        """Whether a word in reach before or after the phrase from start to end denies it."""
        grammar = self.grammar
        for index in range(start - 1, max(0, start - grammar.reach) - 1, -1):
            if self.comma_after(index):
                break
            if self.negates(index, grammar.before):
                return True
        for index in range(end, min(len(self.words), end + grammar.after_reach)):
            if self.words[index].text in grammar.walls or self.comma_after(index - 1):
                break
            if self.negates(index, grammar.after):
                return True
        return False


@cache
def _clause_end(ends: tuple[str, ...]) -> re.Pattern[str]:
    return re.compile("|".join([_STOPS, *(rf",?\s*\b{word}\b" for word in ends)]), re.IGNORECASE)


def _clauses(text: str, grammar: Grammar) -> Iterator[_Clause]:
    start = 0
    cuts = [(match.start(), match.end()) for match in _clause_end(grammar.ends).finditer(text)]
    for begin, end in [*cuts, (len(text), len(text))]:
        clause = text[start:begin]
        yield _Clause(start, clause, tuple(_words(clause, grammar)), grammar)
        start = end


def _citation(claim: Claim, market: str) -> Mapping[str, Any] | None:
    """Where the law of that market says so; None when it is no matter there."""
    if claim.markets is not None and market not in claim.markets:
        return None
    if claim.citation:
        return {"citation": claim.citation, "confidence": claim.confidence, "says": claim.why}
    table = read_toml(TABLE)["citations"].get(market, {})
    found: Mapping[str, Any] | None = table.get(claim.becomes)
    return found


def _hits_in(clause: _Clause, text: str, market: str) -> Iterator[ClaimHit]:
    words, language = clause.words, clause.grammar.language
    for claim in claims_of(language):
        if not any(w.text in claim.heads or w.text.startswith(claim.prefixes) for w in words):
            continue
        law = _citation(claim, market)
        spans = _longest(_spans(claim.words, words, language)) if law is not None else []
        if law is None or not spans:
            continue
        near = _spans(claim.near, words, language)
        spared = _spans(claim.unless, words, language)
        for start, end in spans:
            if any(a <= start and end <= b for a, b in spared):
                continue
            if claim.near and all(a < end and start < b for a, b in near):
                continue  # nothing stands near, or only the phrase's own words
            yield _hit(clause, claim, law, text, start, end)


def _hit(
    clause: _Clause, claim: Claim, law: Mapping[str, Any], text: str, start: int, end: int
) -> ClaimHit:
    begin = clause.offset + clause.words[start].start
    stop = clause.offset + clause.words[end - 1].end
    return ClaimHit(
        claim_id=claim.claim_id,
        language=claim.language,
        phrase=text[begin:stop],
        context=" ".join(clause.text.split()),
        line=text.count("\n", 0, begin) + 1,
        column=begin - (text.rfind("\n", 0, begin) + 1) + 1,
        becomes=claim.becomes,
        denied=clause.denied(start, end),
        says=law["says"],
        citation=law["citation"],
        confidence=_weaker(law["confidence"], claim.confidence),
        why=claim.why,
        plainer=claim.plainer,
    )


def _longest(spans: Sequence[tuple[int, int]]) -> list[tuple[int, int]]:
    """Spans that lie in no other, in the text's order."""
    unique = sorted(set(spans))
    return [
        one
        for one in unique
        if not any(a <= one[0] and one[1] <= b and (a, b) != one for a, b in unique)
    ]


def _weaker(first: str, second: str) -> str:
    order = ("read", "read-2", "derived", "interpretation", "from memory", "our own")
    return max(first, second, key=order.index)


def _covers(longer: ClaimHit, hit: ClaimHit) -> bool:
    """Whether another hit holds this one's words and more, and says at least as much of them."""
    end, longer_end = hit.column + len(hit.phrase), longer.column + len(longer.phrase)
    return (
        longer.line == hit.line
        and len(longer.phrase) > len(hit.phrase)
        and longer.column <= hit.column
        and end <= longer_end
        and longer.denied == hit.denied
        and RANK[longer.becomes] <= RANK[hit.becomes]
    )


def check_claims(text: str, market: str, language: str | None = None) -> tuple[ClaimHit, ...]:
    """Every phrase of a text that the lists know for a market, gravest first.

    Args:
        text: the label's or the shop page's words, plain text.
        market: market key.
        language: whose list to use (`en-fr` uses two); None takes every language of the market.

    Raises:
        BadInput: unknown market or language, or a text over a million characters.
    """
    get_market(market)
    if len(text) > MAX_CHARACTERS:
        raise BadInput("the text is over a million characters", hint="check one page at a time")
    hits = [
        hit
        for one in languages_for(market, language)
        for clause in _clauses(text, grammar_of(one))
        for hit in _hits_in(clause, text, market)
    ]
    denied = {(hit.line, hit.column, hit.phrase) for hit in hits if hit.denied}
    # A word that two languages share is denied when either sees it denied.
    hits = [replace(hit, denied=(hit.line, hit.column, hit.phrase) in denied) for hit in hits]
    hits.sort(key=lambda hit: (hit.denied, RANK[hit.becomes], hit.line, hit.column))
    first: dict[tuple[int, int, str], ClaimHit] = {}
    for hit in hits:  # the same words under two headings are told once, by the graver
        first.setdefault((hit.line, hit.column, hit.phrase), hit)
    told = tuple(first.values())
    return tuple(hit for hit in told if not any(_covers(other, hit) for other in told))


def verdict(hits: Sequence[ClaimHit]) -> Becomes | None:
    """The gravest thing that the claims make of the bar, or None. Denied claims do not count."""
    counted = [hit.becomes for hit in hits if not hit.denied]
    if not counted:
        return None
    gravest: Becomes = min(counted, key=lambda one: RANK[one])
    return gravest
