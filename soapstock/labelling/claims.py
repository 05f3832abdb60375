"""Words on a label or a shop page that make soap a cosmetic or a drug, or that need proof.

The lists are data (labelling.claim_lists), one a language. A phrase is matched by whole words with
their endings, accents passed over; a denied one ("does not treat eczema") is reported as denied,
not as a claim, though a regulator may still ask why it stands there. Finding nothing does not prove
a text lawful.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import accumulate
from typing import Any

from soapstock.errors import BadInput
from soapstock.labelling.claim_lists import (
    RANK,
    TABLE,
    Becomes,
    Claim,
    claims_of,
    grammar_of,
    languages_for,
)
from soapstock.labelling.claim_match import Clause, Span, claimed, clauses, found_in
from soapstock.labelling.law import get_market
from soapstock.tables import read_toml

HERD = "herd"  # the claim that the ledger answers, lot by lot
STOPS = frozenset({"drug", "pesticide"})  # what a bar may not become by its label unasked
MAX_CHARACTERS = 200_000  # a long shop page; a book is not a label


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

    line: int
    column: int
    phrase: str
    language: str
    becomes: Becomes
    denied: bool
    says: str
    citation: str
    confidence: str
    plainer: str
    context: str
    why: str
    claim_id: str


def _citation(claim: Claim, market: str) -> Mapping[str, Any] | None:
    """Where the law of that market says so; None when it is no matter there."""
    if claim.markets is not None and market not in claim.markets:
        return None
    if claim.citation:
        return {"citation": claim.citation, "confidence": claim.confidence, "says": claim.why}
    table = read_toml(TABLE)["citations"].get(market, {})
    found: Mapping[str, Any] | None = table.get(claim.becomes)
    return found


def _hits_in(clause: Clause, market: str, lines: Sequence[int]) -> Iterator[ClaimHit]:
    claims = claims_of(clause.grammar.language)
    for place, roles in sorted(found_in(clause).items()):
        claim = claims[place]
        law = _citation(claim, market)
        if law is None or (claim.near and "near" not in roles) or "not_near" in roles:
            continue
        for start, end in claimed(roles):
            yield _hit(clause, claim, law, lines, start, end)


def _hit(
    clause: Clause,
    claim: Claim,
    law: Mapping[str, Any],
    lines: Sequence[int],
    start: int,
    end: int,
) -> ClaimHit:
    begin, stop = clause.words[start].start, clause.words[end - 1].end
    line = bisect_right(lines, clause.offset + begin)
    return ClaimHit(
        claim_id=claim.claim_id,
        language=claim.language,
        phrase=clause.text[begin:stop],
        context=clause.around(start, end),
        line=line,
        column=clause.offset + begin - lines[line - 1] + 1,
        becomes=claim.becomes,
        denied=clause.denied(start, end),
        says=law["says"],
        citation=law["citation"],
        confidence=_weaker(law["confidence"], claim.confidence),
        why=claim.why,
        plainer=claim.plainer,
    )


def herd_words(clause: Clause) -> Iterator[Span]:
    """Where the words of a herd claim stand in a clause, by its own language's list."""
    claims = claims_of(clause.grammar.language)
    for place, roles in found_in(clause).items():
        if claims[place].claim_id == HERD:
            yield from claimed(roles)


def _line_starts(text: str) -> list[int]:
    """Where each line begins."""
    return [0, *accumulate(len(line) + 1 for line in text.split("\n")[:-1])]


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


def _yielded(hits: Sequence[ClaimHit]) -> Iterator[ClaimHit]:
    """The hits without those that give way to another claim made in the same clause."""
    made = {(hit.line, hit.context, hit.claim_id, hit.denied) for hit in hits}
    to = {one.claim_id: one.yields_to for one in claims_of("en")}
    for hit in hits:
        denials = (False, True) if hit.denied else (False,)
        if not any(
            (hit.line, hit.context, other, denied) in made
            for other in to[hit.claim_id]
            for denied in denials
        ):
            yield hit


def _told_once(hits: Sequence[ClaimHit]) -> Iterator[ClaimHit]:
    """The hits that no other covers; each is held against those alone that reach over its start."""
    open_hits: list[ClaimHit] = []
    for hit in sorted(hits, key=lambda one: (one.line, one.column, -len(one.phrase))):
        open_hits = [
            one
            for one in open_hits
            if one.line == hit.line and one.column + len(one.phrase) > hit.column
        ]
        if not any(_covers(other, hit) for other in open_hits):
            yield hit
        open_hits.append(hit)


def check_claims(text: str, market: str, language: str | None = None) -> tuple[ClaimHit, ...]:
    """Every phrase of a text that the lists know for a market, gravest first.

    Args:
        text: the label's or the shop page's words, plain text.
        market: market key.
        language: whose list to use (`en-fr` uses two); None takes every language of the market.

    Raises:
        BadInput: unknown market or language, or a text over MAX_CHARACTERS.
    """
    get_market(market)
    if len(text) > MAX_CHARACTERS:
        raise BadInput(
            f"the text is over {MAX_CHARACTERS} characters", hint="check one page at a time"
        )
    lines = _line_starts(text)
    hits = [
        hit
        for one in languages_for(market, language)
        for clause in clauses(text, grammar_of(one))
        for hit in _hits_in(clause, market, lines)
    ]
    denied = {(hit.line, hit.column, hit.phrase) for hit in hits if hit.denied}
    # A word that two languages share is denied when either sees it denied.
    hits = [replace(hit, denied=(hit.line, hit.column, hit.phrase) in denied) for hit in hits]
    hits.sort(key=_gravest_first)
    first: dict[tuple[int, int, str], ClaimHit] = {}
    for hit in _yielded(hits):  # the same words under two headings are told once, by the graver
        first.setdefault((hit.line, hit.column, hit.phrase), hit)
    return tuple(sorted(_told_once(tuple(first.values())), key=_gravest_first))


def _gravest_first(hit: ClaimHit) -> tuple[bool, int, int, int]:
    return hit.denied, RANK[hit.becomes], hit.line, hit.column


def verdict(hits: Sequence[ClaimHit]) -> Becomes | None:
    """The gravest thing that the claims make of the bar, or None. Denied claims do not count."""
    counted = [hit.becomes for hit in hits if not hit.denied]
    if not counted:
        return None
    gravest: Becomes = min(counted, key=lambda one: RANK[one])
    return gravest


def must_mend(hits: Sequence[ClaimHit]) -> tuple[ClaimHit, ...]:
    """The hits that change what the bar is in law or break a rule, gravest first."""
    return tuple(hit for hit in hits if not hit.denied and hit.becomes != "note")


def stopping(hits: Sequence[ClaimHit]) -> tuple[ClaimHit, ...]:
    """The hits that make the bar a drug or a pesticide, for which no label is printed unasked."""
    return tuple(hit for hit in hits if not hit.denied and hit.becomes in STOPS)


def quoted(hit: ClaimHit) -> str:
    """The hit's words, and the clause they stand in when it says more."""
    return f"'{hit.phrase}'" + (f" in '{hit.context}'" if hit.context != hit.phrase else "")


def in_words(hit: ClaimHit) -> str:
    """A hit as one sentence, with the law and what to say instead."""
    made = {"quantity": ":", "false": " is"}.get(hit.becomes, " makes the bar")
    return f"{quoted(hit)}{made} {hit.says.rstrip('.')} ({hit.citation}). {hit.plainer}"
