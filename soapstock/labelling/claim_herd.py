"""What a herd claim such as `grass-fed` rests on: the record of each lot of animal fat or milk."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache

from soapstock.labelling.claim_lists import TABLE, claim_languages, fold, grammar_of
from soapstock.labelling.claim_match import clauses
from soapstock.labelling.claims import HERD, ClaimHit, herd_words
from soapstock.tables import read_toml


@dataclass(frozen=True, slots=True, kw_only=True)
class AnimalLot:
    """What was entered of one lot of animal fat or milk that is in a batch.

    Attributes:
        lot_code: as printed; ingredient: in plain words.
        supplier: who sold it, or empty.
        record: what was written of its animals, each text as written.
    """

    lot_code: str
    ingredient: str
    supplier: str
    record: tuple[str, ...]


@cache
def is_of_animals(ingredient: str) -> bool:
    """Whether an ingredient, by its key, is the fat or milk of an animal of the herd."""
    return ingredient in read_toml(TABLE)["animals"]["ingredients"]


def answer_herd(hits: Sequence[ClaimHit], lots: Sequence[AnimalLot]) -> tuple[str, ...]:
    """A line for each herd claim and lot: whether the lot's record says it, denies it or is silent.

    Only what was written is told. A record proves nothing by itself; it is what can be shown.

    Args:
        hits: of a label or a text; those that are no herd claim are passed over.
        lots: the animal lots in one batch.
    """
    told: dict[str, None] = {}
    for phrase in dict.fromkeys(hit.phrase for hit in hits if hit.claim_id == HERD):
        if not lots:
            told[f"'{phrase}': no lot of animal fat or milk is on record in this batch."] = None
        told |= dict.fromkeys(_of_lot(phrase, lot) for lot in lots)
    return tuple(told)


def _of_lot(phrase: str, lot: AnimalLot) -> str:
    origin = f", from {lot.supplier}" if lot.supplier else ""
    said = [denied for text in lot.record for denied in _says(phrase, text)]
    record = "; ".join(lot.record)
    if not lot.record:
        answer = "nothing is on record of its animals"
    elif not said:
        answer = f"its record does not say so, it says '{record}'"
    else:
        answer = f"its record {'denies it' if any(said) else 'says so'}: '{record}'"
    return f"'{phrase}': {lot.lot_code} ({lot.ingredient}{origin}): {answer}."


def _says(phrase: str, text: str) -> Iterator[bool]:
    """For each place where a text holds the claim's own words: whether it is denied there."""
    wanted = _plain(phrase)
    for language in claim_languages():
        for clause in clauses(text, grammar_of(language)):
            for start, end in herd_words(clause):
                words = clause.text[clause.words[start].start : clause.words[end - 1].end]
                if _plain(words) == wanted:
                    yield clause.denied(start, end)


def _plain(words: str) -> str:
    return "".join(char for char in fold(words) if char.isalnum())
