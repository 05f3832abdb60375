"""Where the phrases of a claim list stand in a text, and whether they are denied there.

The work grows with the length of the text alone: each word is looked up once by how it begins, and
a phrase reaches over a bounded number of words.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import accumulate

from soapstock.labelling.claim_lists import (
    Entry,
    Grammar,
    Index,
    Phrase,
    Role,
    fold,
    forms,
    index_of,
)

Span = tuple[int, int]  # of words: the first, and the one after the last
_LETTERS = "0-9A-Za-z\u00c0-\u024f\u0300-\u036f\u1e9e"
_NUMBER = rf"\d+(?:[.,]\d+)+(?![{_LETTERS}])"
_WORD = {
    True: re.compile(rf"{_NUMBER}|[{_LETTERS}]+(?:'[{_LETTERS}]+)*|%"),
    False: re.compile(rf"{_NUMBER}|[{_LETTERS}]+|%"),
}
_STOPS = r"(?<!\d)\.|\.(?!\d)|[;:!?\u00a1\u00bf\n\r()\u2022\u2013\u2014]"
_GAP = 8  # most words that a bare * in a phrase stands for
_HYPHENS = str.maketrans({"\u2019": "'", "\u2010": "-", "\u2011": "-"})


@dataclass(frozen=True, slots=True)
class Word:
    """A word, folded; where it stands in its clause; whether a hyphen joins it to the next."""

    text: str
    start: int
    end: int
    joined: bool


@dataclass(frozen=True, slots=True)
class Clause:
    """One clause, its words, and where it begins in the text."""

    offset: int
    text: str
    words: tuple[Word, ...]
    grammar: Grammar

    def _denies(self, index: int, words: frozenset[str], start: int) -> bool:
        """Whether the word there denies, and is not taken back as in `not only`.

        Within a compound such as `non-drying` it denies its own compound alone.
        """
        grammar, word = self.grammar, self.words[index]
        suffix = grammar.before_suffix
        if word.text not in words and not (suffix and word.text.endswith(suffix)):
            return False
        if word.joined and index + 1 != start:
            return False
        after = tuple(one.text for one in self.words[index : index + 3])
        return not any(after[: len(phrase)] == phrase for phrase in grammar.cancels)

    def _comma_after(self, index: int) -> bool:
        """Whether a comma that stops a denial stands after the word there."""
        if not self.grammar.comma_walls or index + 1 >= len(self.words):
            return False
        return "," in self.text[self.words[index].end : self.words[index + 1].start]

    def denied(self, start: int, end: int) -> bool:
        """Whether a word in reach before or after the phrase from start to end denies it."""
        grammar = self.grammar
        for index in range(start - 1, max(0, start - grammar.reach) - 1, -1):
            if self._comma_after(index):
                break
            if self._denies(index, grammar.before, start):
                return True
        for index in range(end, min(len(self.words), end + grammar.after_reach)):
            if self.words[index].text in grammar.walls or self._comma_after(index - 1):
                break
            if self._denies(index, grammar.after, start):
                return True
        return False

    def around(self, start: int, end: int) -> str:
        """The clause's words about the phrase from start to end, a line's worth either side."""
        first, last = max(0, start - 12), min(len(self.words), end + 12)
        begin = 0 if first == 0 else self.words[first].start
        stop = len(self.text) if last == len(self.words) else self.words[last - 1].end
        return " ".join(self.text[begin:stop].split())


@cache
def _clause_end(ends: tuple[str, ...]) -> re.Pattern[str]:
    return re.compile("|".join([_STOPS, *(rf",?\s*\b{word}\b" for word in ends)]), re.IGNORECASE)


def clauses(text: str, grammar: Grammar) -> Iterator[Clause]:
    """The clauses of a text. A point between two figures ends none."""
    start = 0
    cuts = [(match.start(), match.end()) for match in _clause_end(grammar.ends).finditer(text)]
    for begin, end in [*cuts, (len(text), len(text))]:
        clause = text[start:begin]
        yield Clause(start, clause, tuple(_words(clause, grammar)), grammar)
        start = end


def _words(text: str, grammar: Grammar) -> Iterator[Word]:
    plain = text.translate(_HYPHENS)
    for found in _WORD[grammar.apostrophes].finditer(plain):
        end = found.end()
        joined = plain[end : end + 1] == "-" and plain[end + 1 : end + 2].isalnum()
        yield Word(fold(found[0]), found.start(), end, joined)


def _matches(pattern: str, word: str, language: str) -> bool:
    if pattern.endswith("~"):
        return word in forms(pattern[:-1], language)
    if pattern.endswith("*"):
        return word.startswith(pattern[:-1])
    return word == pattern


def _end_of(pattern: Phrase, words: Sequence[Word], start: int, language: str) -> int | None:
    """Index after the pattern's last word if it goes on at start; a bare * skips some words."""
    at = start
    for index, part in enumerate(pattern):
        if part == "*":
            rest = pattern[index + 1 :]
            for skip in range(_GAP + 1):
                end = _end_of(rest, words, at + skip, language)
                if end is not None:
                    return end
            return None
        if at >= len(words) or not _matches(part, words[at].text, language):
            return None
        at += 1
    return at


def _begun(word: Word, index: Index) -> Iterator[Entry]:
    """The phrases whose first word this one can be."""
    yield from index.exact.get(word.text, ())
    for length, table in index.prefixes.items():
        yield from table.get(word.text[:length], ())


def found_in(clause: Clause) -> Mapping[int, Mapping[Role, list[Span]]]:
    """Spans of all phrases in a clause, by the claim's place in its list and the phrase's role."""
    words, language = clause.words, clause.grammar.language
    index = index_of(language)
    found: dict[int, dict[Role, list[Span]]] = {}
    for at, word in enumerate(words):
        begun = [(entry, at) for entry in _begun(word, index)]
        if at and words[at - 1].joined:
            begun += [(entry, at - 1) for entry in index.exact.get(f"-{word.text}", ())]
        for (place, role, phrase), start in begun:
            end = _end_of(phrase[1:], words, at + 1, language)
            if end is not None:
                found.setdefault(place, {}).setdefault(role, []).append((start, end))
    return found


def claimed(roles: Mapping[Role, list[Span]]) -> Iterator[Span]:
    """The spans of a claim's words that count: the right words near, none that take them back."""
    near, spared = roles.get("near"), sorted(roles.get("unless", ()))
    furthest = list(accumulate((end for _, end in spared), max))
    first_end = min((end for _, end in near), default=0) if near is not None else 0
    last_start = max((start for start, _ in near), default=0) if near is not None else 0
    for start, end in _longest(roles.get("words", ())):
        known = bisect_right(spared, (start, float("inf")))
        if known and furthest[known - 1] >= end:
            continue
        if near is not None and not (first_end <= start or last_start >= end):
            continue  # only the phrase's own words stand near
        yield start, end


def _longest(spans: Iterable[Span]) -> Iterator[Span]:
    """Spans that lie in no other, in the text's order."""
    reached = -1
    for start, end in sorted(set(spans), key=lambda one: (one[0], -one[1])):
        if end > reached:
            yield start, end
            reached = end
