"""Precautions for use on a label: the maker's own, and those the law ties to what the bar holds.

Regulation (EC) No 1223/2009 Art. 19(1)(d): they are a required statement as soon as there are any.
Rows in tables/law/precautions.toml; words in tables/names/precautions.toml.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from soapstock.errors import RuleBroken
from soapstock.labelling.allergens import AllergenAmount
from soapstock.labelling.law import Market, Rule, find_rule
from soapstock.recipes.precautions import Precaution, ready_phrase
from soapstock.tables import read_toml

TABLE = "law/precautions.toml"
RULES = ("precautions", "warnings")  # what markets call them


@dataclass(frozen=True, slots=True, kw_only=True)
class Tied:
    """A precaution that the law ties to a substance of the bar: its words, and the rule."""

    precaution: Precaution
    substance: str
    citation: str
    confidence: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Precautions:
    """All precautions of a label as one text; empty when there are none.

    Attributes:
        text: the sentences, in one language or in every language the market asks for.
        rule: the market's rule on them, or None where it has none.
        citation, confidence: of the whole: the market's rule and every tied one.
    """

    text: str
    rule: Rule | None
    citation: str
    confidence: str


def tied_precautions(found: Sequence[AllergenAmount], market: str, on: date) -> tuple[Tied, ...]:
    """Precautions the market ties to substances in the bar on a day."""
    present = {one.allergen.name for one in found if one.mass_g > 0.0}
    return tuple(
        Tied(
            precaution=ready_phrase(row["phrase"]),
            substance=row["allergen"],
            citation=row["citation"],
            confidence=row["confidence"],
        )
        for row in read_toml(TABLE)["required"]
        if market in row["markets"] and row["from"] <= on and row["allergen"] in present
    )


def _words(precaution: Precaution, language: str, rule: Rule | None) -> str:
    text = precaution.text(language)
    if text is not None:
        return text
    first, known = precaution.words[0]
    cited = f" ({rule.citation})" if rule is not None else ""
    raise RuleBroken(
        f"the precaution '{known}' has no words in '{language}'{cited}",
        hint=f'in the recipe: precautions = [{{ {first} = "...", {language} = "..." }}]',
    )


def precautions_on(
    own: Sequence[Precaution],
    found: Sequence[AllergenAmount],
    market: Market,
    on: date,
    languages: Sequence[str],
) -> Precautions:
    """The precautions of a label.

    Args:
        own: the recipe's.
        found: allergens in the bar, whatever their share.
        market: the market, with its rules.
        on: day of the label.
        languages: every language that the words are printed in.

    Raises:
        RuleBroken: own words are missing in one of the languages.
    """
    rule = next((r for r in (find_rule(market.key, key, on) for key in RULES) if r), None)
    tied = tied_precautions(found, market.key, on)
    every = dict.fromkeys([*(one.precaution for one in tied), *own])
    citations = dict.fromkeys([*([rule.citation] if rule else []), *(t.citation for t in tied)])
    weakest = next((t.confidence for t in tied), rule.confidence if rule else "our own")
    return Precautions(
        text=" / ".join(
            " ".join(_words(one, language, rule) for one in every) for language in languages
        )
        if every
        else "",
        rule=rule,
        citation="; ".join(citations) or "our own choice",
        confidence=weakest,
    )
