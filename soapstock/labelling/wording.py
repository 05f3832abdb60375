"""All statements of one label, each with its rule; refused when one the law asks for is missing."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any, Literal

from dateutil.relativedelta import relativedelta

from soapstock.errors import BadInput, NotFound, RuleBroken
from soapstock.labelling.claims import ClaimHit, check_claims, in_words, must_mend
from soapstock.labelling.declaration import Declaration
from soapstock.labelling.law import Market, Rule, find_rule, market_on
from soapstock.labelling.netweight import NetWeight
from soapstock.labelling.precautions import precautions_on
from soapstock.labelling.symbols import opened_text, symbols_for
from soapstock.labelling.words import date_text, label_language, languages, words_of
from soapstock.recipes.precautions import Precaution

Kind = Literal[
    "name",
    "identity",
    "net_weight",
    "ingredients",
    "precautions",
    "maker",
    "lot",
    "made",
    "best_before",
    "opened",
    "maker_name",
    "scent",
    "story",
    "poured",
    "batch",
    "price",
    "pair",
    "thanks",
    "contact",
]

_TAGS = {"en-fr": "en-CA"}  # BCP 47: one language for the file, though the words are in two
_OWN_WORDS = ("name", "identity", "scent", "story")  # the maker's own, which may claim anything
_ZIP = re.compile(r"\b\d{5}(-\d{4})?\b")
_WEAK = {
    "read-2": "at second hand",
    "from memory": "from memory",
    "interpretation": "by our interpretation",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class LabelFacts:
    """What a label is to be made of.

    Attributes:
        market: market key.
        maker_name, maker_address, maker_contact: who made it; contact may be empty.
        responsible: name and address of who answers for it in a market that asks for one there,
            line by line; the maker's own where the maker is at home there.
        origin: country it was made in, as the label says it, for a market it is brought into.
        recipe_name, identity: the bar's name and what it is, such as `Soap`.
        net_weight, declaration: from their own modules, for the same market.
        lot_code: as printed; qr_text: what the QR code holds.
        made_on: day of pour; best_before: or None.
        language: of the statement words.
        on: day of the label, against which rules are dated; None takes made_on.
        opened_months: months of use after opening, where no date is due (EU, UK).
        precautions: the recipe's own; what the law ties to the bar's scents is added here.
        scent_line, story: the maker's own words of the scent and of the bar; either may be empty.
        cure_days: days the bars cure at least; bars: how many the pour gave, or 0.
        price: as it is to be printed, or empty.
        pair_weight: net weight of two bars in one package.
    """

    market: str
    maker_name: str
    maker_address: tuple[str, ...]
    maker_contact: str
    recipe_name: str
    identity: str
    net_weight: NetWeight
    declaration: Declaration
    lot_code: str
    made_on: date
    best_before: date | None
    qr_text: str
    language: str = "en"
    on: date | None = None
    opened_months: int | None = None
    precautions: tuple[Precaution, ...] = ()
    responsible: tuple[str, ...] = ()
    origin: str = ""
    scent_line: str = ""
    story: str = ""
    cure_days: int = 0
    bars: int = 0
    price: str = ""
    pair_weight: NetWeight | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Statement:
    """One statement: its text, the rule behind it (citation), how we know the rule.

    `sign` is the key of a sign (labelling.symbols) that may stand in for the words, with
    `sign_text` beside or in it; the text stands whole without it.
    """

    kind: Kind
    text: str
    rule: str
    required: bool
    confidence: str = ""
    why: str = ""
    sign: str = ""
    sign_text: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class LabelWording:
    """All statements of a label in the order of weight to a reader, and what to tell the maker.

    `claims` are those of the maker's own words: the name, the identity, a scent line, a story.
    `extras` no rule asks for: they are said where a face has a place for them, else nobody misses
    them.
    """

    statements: tuple[Statement, ...]
    lot_code: str
    qr_text: str
    cautions: tuple[str, ...]
    claims: tuple[ClaimHit, ...] = ()
    market: str = ""
    language: str = "en"
    on: date | None = None
    nominal_g: float | None = None
    extras: tuple[Statement, ...] = ()

    def text(self, kind: str) -> str:
        """Text of the statement of that kind. Raises NotFound when the label has none."""
        for statement in self.statements:
            if statement.kind == kind:
                return statement.text
        raise NotFound(f"the label has no statement '{kind}'")

    @property
    def must_fix(self) -> tuple[str, ...]:
        """What the maker's own words make of the bar in law, gravest first, to be told first."""
        return tuple(in_words(hit) for hit in must_mend(self.claims))

    def has(self, kind: str) -> bool:
        """Whether the label has a statement of that kind."""
        return any(statement.kind == kind for statement in self.statements)


def _statement(
    kind: Kind, text: str, rule: Rule | None, *, own: str = "our own choice"
) -> Statement:
    return Statement(
        kind=kind,
        text=text,
        rule=own if rule is None else rule.citation,
        required=rule is not None and rule.required,
        confidence="our own" if rule is None else rule.confidence,
        why="" if rule is None else rule.text,
    )


def _refuse_missing(what: str, rule: Rule | None, hint: str) -> None:
    if rule is not None and rule.required:
        raise RuleBroken(f"the label lacks {what} ({rule.citation})", hint=hint)


def _says_soap(identity: str) -> bool:
    """Whether the words name soap, in any language of ours; soap-free and soapless do not."""
    said = re.sub(r"soap[\s-]*(free|less)", "", identity.lower())
    return any(words_of(one)["soap"].lower() in said for one in languages() if "-" not in one)


def _identity(facts: LabelFacts, market: Market, words: Mapping[str, Any]) -> str:
    """The identity; the plain word for soap in the label's language, or both for Canada."""
    identity = facts.identity.strip()
    if market.soap_in_identity and not _says_soap(identity):
        raise RuleBroken(
            f"identity '{identity}' does not say soap, so the bar is no soap in market"
            f" '{market.key}' ({market.soap_in_identity})",
            hint="call it soap, such as 'Soap' or 'Shaving soap', or sell it as a cosmetic",
        )
    if identity.lower() in {words_of(language)["soap"].lower() for language in languages()}:
        return str(words["soap"])
    if market.languages != ("en-fr",) or "/" in identity:
        return identity
    raise RuleBroken(
        f"identity '{identity}' is in one language; Canada wants English and French"
        " (Cosmetic Regulations C.R.C. c. 869)",
        hint="write both, such as 'Shaving soap / Savon à barbe'",
    )


def _check_language(facts: LabelFacts, market: Market) -> None:
    words_of(facts.language)
    taken = {part for one in market.languages for part in (one, *one.split("-"))}
    if facts.language not in taken:
        raise RuleBroken(
            f"market '{market.key}' does not take a label in '{facts.language}'",
            hint=f"use {' or '.join(sorted(taken))}",
        )


def _maker(facts: LabelFacts, market: Market, day: date, words: Mapping[str, Any]) -> Statement:
    rule = find_rule(market.key, "maker", day)
    name, address = facts.maker_name.strip(), [a.strip() for a in facts.maker_address if a.strip()]
    if not name or not address:
        what = "the maker's name" if not name else "the maker's address"
        _refuse_missing(what, rule, "set it in shop.toml")
    if market.responsible_person and facts.responsible != (facts.maker_name, *facts.maker_address):
        return _responsible(facts, market, rule, words)
    contact = find_rule(market.key, "contact", day)
    if not facts.maker_contact.strip() and not address:
        _refuse_missing("a contact", contact, "set the contact in shop.toml")
    parts = [words["made_by"].format(name=name), *address]
    if facts.maker_contact.strip():
        parts.append(facts.maker_contact.strip())
    said = _statement("maker", ", ".join(parts), rule)
    if contact is None:
        return said
    return replace(said, rule=f"{said.rule}; {contact.citation}", required=True)


def _responsible(
    facts: LabelFacts, market: Market, rule: Rule | None, words: Mapping[str, Any]
) -> Statement:
    """Who answers for the bar where it is sold, who made it, and where (Art. 19(1)(a))."""
    lines = [line.strip() for line in facts.responsible if line.strip()]
    if len(lines) < 2:  # noqa: PLR2004  a name and an address
        raise RuleBroken(
            f"no responsible person in market '{market.key}' is named"
            f" ({market.responsible_person})",
            hint=f"in shop.toml: [markets.{market.key}] responsible = "
            '["name", "street", "town, country"]; or "maker" if you are at home there',
        )
    if not facts.origin.strip():
        raise RuleBroken(
            f"the country of origin of a bar brought into market '{market.key}' is not named"
            f" ({market.responsible_person})",
            hint=f'in shop.toml: [markets.{market.key}] origin = "USA"',
        )
    parts = (
        facts.maker_name.strip(),
        words["responsible"].format(name=", ".join(lines)),
        words["origin"].format(country=facts.origin.strip()),
    )
    return _statement("maker", ". ".join(parts), rule)


def _keeps_long(facts: LabelFacts, market: Market) -> bool:
    """Whether it keeps so long that the market asks for the months after opening instead."""
    most = market.date_needed_up_to_months
    if most is None or facts.best_before is None:
        return False
    return bool(facts.best_before > facts.made_on + relativedelta(months=most))


def _dates(
    facts: LabelFacts, market: Market, day: date, words: Mapping[str, Any]
) -> Iterator[Statement]:
    language = label_language(market.languages, facts.language)
    made = words["made"].format(date=date_text(facts.made_on, language))
    yield _statement("made", made, None)
    rule = find_rule(market.key, "best_before", day)
    if facts.best_before is not None:
        if facts.best_before <= facts.made_on:
            raise BadInput(
                f"best before {facts.best_before} is not after the pour on {facts.made_on}"
            )
        shape = words["best_before"] if rule is None else words["best_before_end"]
        date_said = date_text(facts.best_before, language)
        text = shape.format(date=date_said)
        if _keeps_long(facts, market):
            if facts.opened_months is None:
                _refuse_missing(
                    f"the months of use after opening, as it keeps more than"
                    f" {market.date_needed_up_to_months} months",
                    rule,
                    "give the months of use after opening",
                )
            yield _statement("best_before", text, None)
        else:
            said = _statement("best_before", text, rule)
            yield _signed(said, "hourglass", date_said, market, day)
    if facts.opened_months is not None and (
        facts.best_before is None or _keeps_long(facts, market)
    ):
        text = words["after_opening"].format(months=facts.opened_months)
        said_months = opened_text(facts.opened_months)
        yield _signed(_statement("opened", text, rule), "open-jar", said_months, market, day)
    elif facts.best_before is None:
        _refuse_missing(
            "a best-before date", rule, "give the recipe best_before_months (up to 30 months)"
        )


def _precautions(
    facts: LabelFacts, market: Market, day: date, words: Mapping[str, Any]
) -> Iterator[Statement]:
    """The precautions under their own heading, required wherever the market has a rule on them."""
    spoken = label_language(market.languages, facts.language).split("-")
    found = precautions_on(facts.precautions, facts.declaration.allergens, market, day, spoken)
    if found.text:
        yield replace(
            _statement("precautions", f"{words['precautions']} {found.text}", found.rule),
            rule=found.citation,
            confidence=found.confidence,
            required=found.rule is not None,
        )


def _extras(facts: LabelFacts, market: Market, words: Mapping[str, Any]) -> Iterator[Statement]:
    """What the maker would like to say, and what the ledger knows of the pour."""
    language = label_language(market.languages, facts.language)
    said: dict[Kind, str] = {
        "maker_name": facts.maker_name.strip(),
        "scent": facts.scent_line,
        "story": facts.story,
        "price": facts.price,
        "thanks": words["thanks"],
        "contact": facts.maker_contact.strip(),
    }
    if facts.cure_days:
        day = date_text(facts.made_on, language)
        said["poured"] = words["poured"].format(date=day, days=facts.cure_days)
    if facts.bars > 1:
        said["batch"] = words["one_of"].format(bars=facts.bars)
    if facts.pair_weight is not None:
        each, total = facts.net_weight.text, facts.pair_weight.text
        said["pair"] = words["pair"].format(each=each, total=total)
    yield from (_statement(kind, text, None) for kind, text in said.items() if text)


def _signed(statement: Statement, key: str, text: str, market: Market, day: date) -> Statement:
    """The statement with its sign, where the market knows the sign."""
    known = any(one.key == key for one in symbols_for(market.key, day))
    return replace(statement, sign=key, sign_text=text) if known else statement


def _cautions(
    facts: LabelFacts,
    market: Market,
    words: Mapping[str, Any],
    statements: Sequence[Statement],
) -> tuple[str, ...]:
    cautions = [
        f"Made for market '{market.key}' ({market.title}) by rules as noted on"
        f" {market.as_of.isoformat()}. {words['caution']}"
        " It helps you write the label and is no legal advice.",
    ]
    behind = {facts.net_weight.confidence, facts.declaration.confidence}
    behind |= {one.confidence for one in statements if one.required}
    weak = sorted(_WEAK[one] for one in behind if one in _WEAK)
    text = " ".join([*facts.maker_address])
    if market.asks_zip and not _ZIP.search(text):
        cautions.append(
            "No ZIP code is seen in the maker's address; city, state and ZIP are asked for"
            f" ({market.asks_zip})."
        )
    if weak:
        cautions.append(
            f"Some rules behind it are known only {' and '.join(weak)};"
            f" the list of rules of {market.key} says which."
        )
    return tuple(cautions)


def word_label(facts: LabelFacts) -> LabelWording:
    """All statements of a label, for its market, day and language.

    Raises:
        BadInput: unknown market or language, or a best-before that is not after the pour.
        RuleBroken: a statement the market requires is missing; the message cites the rule.
        NoRuleInForce: the market is not covered on that day.
    """
    day = facts.on or facts.made_on
    market = market_on(facts.market, day)
    _check_language(facts, market)
    words = words_of(label_language(market.languages, facts.language))
    key = market.key
    if not facts.identity.strip():
        _refuse_missing(
            "its identity", find_rule(key, "identity", day), "give the recipe an identity"
        )
    statements = [
        _statement("name", facts.recipe_name, None),
        _statement("identity", _identity(facts, market, words), find_rule(key, "identity", day)),
        _statement("net_weight", facts.net_weight.text, find_rule(key, "net_weight", day)),
        _statement("ingredients", facts.declaration.text, find_rule(key, "ingredients", day)),
        *_precautions(facts, market, day, words),
        _maker(facts, market, day, words),
        _statement("lot", words["lot"].format(code=facts.lot_code), find_rule(key, "lot", day)),
        *_dates(facts, market, day, words),
    ]
    extras = tuple(_extras(facts, market, words))
    own = "\n".join(one.text for one in (*statements, *extras) if one.kind in _OWN_WORDS)
    return LabelWording(
        statements=tuple(statements),
        lot_code=facts.lot_code,
        qr_text=facts.qr_text,
        cautions=_cautions(facts, market, words, statements),
        claims=check_claims(own, key),
        market=key,
        language=_TAGS.get(label_language(market.languages, facts.language), facts.language),
        on=day,
        nominal_g=float(facts.net_weight.g),
        extras=extras,
    )
