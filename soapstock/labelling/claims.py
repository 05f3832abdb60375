"""Words on a label or a shop page that make soap a cosmetic or a drug, or that need proof.

The list is data (tables/law/claims.toml) and English only. A phrase is matched by whole words with
their endings; a denied one ("does not treat eczema") is reported as denied, not as a claim, though
a regulator may still ask why it stands there. Finding nothing does not prove a text lawful.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any, Literal

from soapstock.errors import BadInput, BadTable
from soapstock.labelling.law import MARKETS, get_market
from soapstock.tables import read_toml

TABLE = "law/claims.toml"
MAX_CHARACTERS = 1_000_000
Becomes = Literal["drug", "cosmetic", "quantity", "note"]
_RANK: Mapping[str, int] = {"drug": 0, "cosmetic": 1, "quantity": 2, "note": 3}
_ENDINGS = ("s", "es", "d", "ed", "ing", "er", "ers", "ment", "ments")
_WORD = re.compile(r"[0-9A-Za-z\u00c0-\u024f]+(?:[-'][0-9A-Za-z\u00c0-\u024f]+)*|%")
_CLAUSE_END = re.compile(r"[.;:!?\n\r()\u2022\u2013\u2014]|,\s*but\b|\bbut\b", re.IGNORECASE)
_NEGATIONS = {
    "not", "no", "never", "without", "nor", "neither", "cannot", "don't", "doesn't", "isn't",
    "aren't", "won't", "didn't", "can't", "nothing", "non", "lacks", "avoid", "avoids",
}  # fmt: skip
_NOT_NEGATING = {("not", "only"), ("not", "just"), ("no", "more"), ("no", "longer"), ("no", "1")}
_REACH = 6  # words before a phrase in which a negation still governs it
_GAP = 4  # most words that a bare * in a phrase stands for


@dataclass(frozen=True, slots=True, kw_only=True)
class ClaimHit:
    """One phrase that the list knows.

    Attributes:
        claim_id: the list's name for it.
        phrase: as written; context: the clause around it.
        line, column: where it starts, from 1.
        becomes: what the product becomes by it, or `quantity` / `note`.
        denied: a negation governs it.
        says, citation, confidence: what the law says, where, and how we know it.
        why, plainer: the reason, and words that are safe.
    """

    claim_id: str
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


@dataclass(frozen=True, slots=True)
class _Claim:
    row: Mapping[str, Any]
    words: tuple[tuple[str, ...], ...]
    near: tuple[tuple[str, ...], ...]
    unless: tuple[tuple[str, ...], ...]


def _doubled(stem: str) -> str:
    return stem + stem[-1]


@cache
def _forms(stem: str) -> frozenset[str]:
    """A word and its English endings; spellings that no one uses do no harm."""
    forms = {stem, *(stem + ending for ending in _ENDINGS)}
    if stem.endswith("e"):
        forms |= {stem[:-1] + ending for ending in ("ing", "ed", "er")}
    if stem.endswith("y"):
        forms |= {stem[:-1] + ending for ending in ("ies", "ied")}
    forms |= {_doubled(stem) + ending for ending in ("ing", "ed", "er")}
    return frozenset(forms)


def _matches(pattern: str, word: str) -> bool:
    if pattern.endswith("~"):
        return word in _forms(pattern[:-1])
    if pattern.endswith("*"):
        return word.startswith(pattern[:-1])
    return word == pattern


def _phrase(text: str) -> tuple[str, ...]:
    return tuple(text.lower().split())


@cache
def _claims() -> tuple[_Claim, ...]:
    known = {
        "id", "becomes", "words", "near", "unless", "plainer", "why", "confidence", "markets",
        "citation",
    }  # fmt: skip
    found = []
    for row in read_toml(TABLE)["claims"]:
        strange = set(row) - known
        if strange or row["becomes"] not in _RANK:
            raise BadTable(f"tables/{TABLE}: claim '{row.get('id')}' is not understood")
        found.append(
            _Claim(
                row=row,
                words=tuple(_phrase(text) for text in row["words"]),
                near=tuple(_phrase(text) for text in row.get("near", ())),
                unless=tuple(_phrase(text) for text in row.get("unless", ())),
            )
        )
    return tuple(found)


def _words(text: str) -> list[_Word]:
    plain = text.replace("\u2019", "'").replace("\u2010", "-").replace("\u2011", "-")
    return [_Word(m[0].lower(), m.start(), m.end()) for m in _WORD.finditer(plain)]


def _end_of(pattern: Sequence[str], words: Sequence[_Word], start: int) -> int | None:
    """Index after the pattern's last word if it stands at start; a bare * skips up to four."""
    at = start
    for index, part in enumerate(pattern):
        if part == "*":
            rest = pattern[index + 1 :]
            for skip in range(1, _GAP + 1):
                end = _end_of(rest, words, at + skip)
                if end is not None:
                    return end
            return None
        if at >= len(words) or not _matches(part, words[at].text):
            return None
        at += 1
    return at


def _spans(patterns: Sequence[Sequence[str]], words: Sequence[_Word]) -> list[tuple[int, int]]:
    return [
        (start, end)
        for start in range(len(words))
        for pattern in patterns
        if (end := _end_of(pattern, words, start)) is not None
    ]


def _denied(words: Sequence[_Word], start: int, end: int) -> bool:
    """Whether a negation in reach before the phrase, or `free` right after it, denies it."""
    texts = [word.text for word in words]
    for index in range(max(0, start - _REACH), start):
        word = texts[index]
        negates = word in _NEGATIONS or word.endswith("n't")
        follower = texts[index + 1] if index + 1 < len(texts) else ""
        if negates and (word, follower) not in _NOT_NEGATING:
            return True
    return end < len(texts) and texts[end] == "free"


def _clauses(text: str) -> Iterator[tuple[int, str]]:
    start = 0
    for match in _CLAUSE_END.finditer(text):
        yield start, text[start : match.start()]
        start = match.end()
    yield start, text[start:]


def _citation(claim: _Claim, market: str) -> Mapping[str, Any] | None:
    """Where the law of that market says so; None when it is no matter there."""
    row = claim.row
    if market not in row.get("markets", MARKETS):
        return None
    if "citation" in row:
        return {"citation": row["citation"], "confidence": row["confidence"], "says": row["why"]}
    table = read_toml(TABLE)["citations"].get(market, {})
    found: Mapping[str, Any] | None = table.get(row["becomes"])
    return found


def _hits_in(offset: int, clause: str, text: str, market: str) -> Iterator[ClaimHit]:
    words = _words(clause)
    for claim in _claims():
        law = _citation(claim, market)
        if law is None:
            continue
        near = _spans(claim.near, words)
        spared = _spans(claim.unless, words)
        for start, end in _longest(_spans(claim.words, words)):
            if any(a <= start and end <= b for a, b in spared):
                continue
            if claim.near and all(a < end and start < b for a, b in near):
                continue  # nothing stands near, or only the phrase's own words
            begin, stop = offset + words[start].start, offset + words[end - 1].end
            before = text.count("\n", 0, begin)
            yield ClaimHit(
                claim_id=claim.row["id"],
                phrase=text[begin:stop],
                context=" ".join(clause.split()),
                line=before + 1,
                column=begin - (text.rfind("\n", 0, begin) + 1) + 1,
                becomes=claim.row["becomes"],
                denied=_denied(words, start, end),
                says=law["says"],
                citation=law["citation"],
                confidence=_weaker(law["confidence"], claim.row["confidence"]),
                why=claim.row["why"],
                plainer=claim.row["plainer"],
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


def check_claims(text: str, market: str) -> tuple[ClaimHit, ...]:
    """Every phrase of a text that the list knows for a market, gravest first.

    Args:
        text: the label's or the shop page's words, plain text, English.
        market: market key.

    Raises:
        BadInput: unknown market, or a text over a million characters.
    """
    get_market(market)
    if len(text) > MAX_CHARACTERS:
        raise BadInput("the text is over a million characters", hint="check one page at a time")
    hits = [
        hit for offset, clause in _clauses(text) for hit in _hits_in(offset, clause, text, market)
    ]
    hits.sort(key=lambda hit: (hit.denied, _RANK[hit.becomes], hit.line, hit.column))
    first: dict[tuple[int, int, str], ClaimHit] = {}
    for hit in hits:  # the same words under two headings are told once, by the graver
        first.setdefault((hit.line, hit.column, hit.phrase), hit)
    return tuple(first.values())


def verdict(hits: Sequence[ClaimHit]) -> Becomes | None:
    """The gravest thing that the claims make of the bar, or None. Denied claims do not count."""
    counted = [hit.becomes for hit in hits if not hit.denied]
    if not counted:
        return None
    gravest: Becomes = min(counted, key=lambda one: _RANK[one])
    return gravest
