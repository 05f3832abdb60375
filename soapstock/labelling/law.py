"""Markets and their rules as dated data; a rule outside its dates is an error, never a guess.

A market is a file of tables/law/markets, and no code names one: what sets it apart are settings.

Each rule carries its citation and how it was learned (`confidence`): read (in the law or an
official text), read-2 (in a second-hand text), interpretation, from memory, or our own.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from datetime import date
from decimal import Decimal
from difflib import get_close_matches
from functools import cache
from typing import Literal, get_args

from soapstock.errors import BadInput, BadTable, RuleBroken
from soapstock.tables import read_toml, toml_names
from soapstock.tables.fields import Fields, Source

FOLDER = "law/markets"
CONFIDENCES = ("read", "read-2", "derived", "interpretation", "from memory", "our own")
Small = Literal["none", "not-exceeding", "less-than"]
Convention = Literal["poured", "finished"]
Style = Literal["eu", "us", "plain"]
Scent = Literal["named", "grouped"]
Sampling = Literal["hb133", "reference"]
Allowed = Literal["mav", "tne"]


class NoRuleInForce(RuleBroken):
    """The tables know no rule for that market on that day."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """One dated rule of one market.

    Attributes:
        market: market key, such as `eu`.
        rule_id: short name within the market; the statement's kind where it asks for one.
        topic: statement, order, quantity, allergens, claims, language, packaging, scope or safety.
        text: the rule in our own words.
        citation: where it stands in the law.
        confidence: how we know it; one of CONFIDENCES.
        starts: first day it holds.
        ends: last day it holds, or None.
        required: whether it asks for a statement on the label.
        below: a figure that the bar must stay under, where the rule names one.
    """

    market: str
    rule_id: str
    topic: str
    text: str
    citation: str
    confidence: str
    starts: date
    ends: date | None
    required: bool
    below: Decimal | None = None

    def holds_on(self, day: date) -> bool:
        """Whether the rule is in force on that day, both ends included."""
        return self.starts <= day and (self.ends is None or day <= self.ends)


@dataclass(frozen=True, slots=True, kw_only=True)
class Market:
    """Settings of one market: defaults of the list's form and which duties it has.

    Attributes:
        default_convention, default_style, default_scent, styles, languages: form of the label.
        allergens: whether scents' allergens are named; ingredients_required: whether a list is.
        small, small_percent: which ingredients may stand in any order.
        date_needed_up_to_months: a bar that keeps up to so many months carries its date; one that
            keeps longer carries the months of use after opening. None: no date is asked for.
        sampling: the method that checks weighed bars, or None where none is in our tables.
        tolerance: MAV or TNE for one short bar, or None; tne_most_g: top of its system, g.
        after_sale: what the law says of bars that lose weight after pack, with its citation.
        asks_zip, responsible_person: citation of that duty, or empty.
        soap_in_identity: citation, where the bar must be called soap and no more, or empty.
        colour_list: which list of tables/law/colours.toml binds, or empty.
        net_weight_on_front: citation, where the weight stands on the principal panel, or empty.
    """

    key: str
    title: str
    starts: date
    ends: date | None
    default_convention: Convention
    default_style: Style
    default_scent: Scent
    styles: tuple[str, ...]
    languages: tuple[str, ...]
    allergens: bool
    ingredients_required: bool
    small: Small
    small_percent: Decimal | None
    date_needed_up_to_months: int | None
    sampling: Sampling | None
    tolerance: Allowed | None
    tne_most_g: Decimal | None
    after_sale: str
    asks_zip: str
    responsible_person: str
    soap_in_identity: str
    colour_list: str
    net_weight_on_front: str
    rules: tuple[Rule, ...]
    source: str
    as_of: date


def markets() -> tuple[str, ...]:
    """Keys of all markets: the files of tables/law/markets."""
    return toml_names(FOLDER)


_RULE_KEYS = tuple("id topic from until required text citation confidence below".split())
_MOST = 1e6  # more is a slip in the table


def _rule(market: str, row: Fields) -> Rule:
    rule = Rule(
        market=market,
        rule_id=row.text("id"),
        topic=row.text("topic"),
        text=row.text("text"),
        citation=row.text("citation"),
        confidence=row.choice("confidence", CONFIDENCES),
        starts=row.day("from"),
        ends=row.day("until") if row.has("until") else None,
        required=row.flag("required"),
        below=row.exact("below", 0, _MOST) if row.has("below") else None,
    )
    if rule.ends is not None and rule.ends < rule.starts:
        raise row.fail("until", f"rule {rule.rule_id} ends before it starts")
    return rule


def _refuse_overlaps(market: str, rules: tuple[Rule, ...]) -> None:
    for index, rule in enumerate(rules):
        for other in rules[index + 1 :]:
            same = rule.rule_id == other.rule_id
            if same and (rule.holds_on(other.starts) or other.holds_on(rule.starts)):
                raise BadTable(
                    f"tables/{FOLDER}/{market}.toml: rule {rule.rule_id} overlaps itself"
                )


@cache
def get_market(key: str) -> Market:
    """The market of that key. Raises BadInput for an unknown one, BadTable for a broken file."""
    known = markets()
    if key not in known:
        near = [market for market in known if market.startswith(key.lower()) and key]
        near = near or get_close_matches(key.lower(), known, n=2, cutoff=0.4)
        raise BadInput(
            f"market '{key}' is unknown",
            hint=f"did you mean {' or '.join(near)}?" if near else f"one of {', '.join(known)}",
        )
    data = read_toml(f"{FOLDER}/{key}.toml")
    source = Source(text="", where=f"tables/{FOLDER}/{key}.toml", error=BadTable)
    top = Fields(source, "", data, ("source", "as_of", "confidence", "market", "rules"))
    rules = tuple(_rule(key, row) for row in top.rows("rules", _RULE_KEYS))
    _refuse_overlaps(key, rules)
    return _market(key, top, rules)


_NO_SETTING = {"key", "starts", "ends", "rules", "source", "as_of"}
_MARKET_KEYS = ("from", "until", *(f.name for f in fields(Market) if f.name not in _NO_SETTING))


def _market(key: str, top: Fields, rules: tuple[Rule, ...]) -> Market:
    head = top.table("market", _MARKET_KEYS)
    for duty in ("allergens", "ingredients_required"):
        if not head.has(duty):
            raise head.fail(duty, "is missing", "say true or false")

    def figure(setting: str) -> Decimal | None:
        return head.exact(setting, 0, _MOST) if head.has(setting) else None

    months = "date_needed_up_to_months"
    return Market(
        key=key,
        title=head.text("title"),
        starts=head.day("from"),
        ends=head.day("until") if head.has("until") else None,
        default_convention=head.choice("default_convention", get_args(Convention)),
        default_style=head.choice("default_style", get_args(Style)),
        default_scent=head.choice("default_scent", get_args(Scent)),
        styles=head.texts("styles"),
        languages=head.texts("languages"),
        allergens=head.flag("allergens"),
        ingredients_required=head.flag("ingredients_required"),
        small=head.choice("small", get_args(Small)),
        small_percent=figure("small_percent"),
        date_needed_up_to_months=head.whole(months, 1, 120) if head.has(months) else None,
        sampling=head.choice("sampling", get_args(Sampling)) if head.has("sampling") else None,
        tolerance=head.choice("tolerance", get_args(Allowed)) if head.has("tolerance") else None,
        tne_most_g=figure("tne_most_g"),
        after_sale=head.text("after_sale", ""),
        asks_zip=head.text("asks_zip", ""),
        responsible_person=head.text("responsible_person", ""),
        soap_in_identity=head.text("soap_in_identity", ""),
        colour_list=head.text("colour_list", ""),
        net_weight_on_front=head.text("net_weight_on_front", ""),
        rules=rules,
        source=top.text("source"),
        as_of=top.day("as_of"),
    )


def market_on(key: str, day: date) -> Market:
    """The market, if our tables cover it on that day. Raises NoRuleInForce outside its dates."""
    market = get_market(key)
    if day < market.starts or (market.ends is not None and day > market.ends):
        raise NoRuleInForce(
            f"no rules of market '{key}' are known for {day.isoformat()}",
            hint=f"the table starts {market.starts.isoformat()}; check the date",
        )
    return market


def rules_in_force(key: str, day: date) -> tuple[Rule, ...]:
    """All rules of a market that hold on that day, in the table's order.

    Raises:
        BadInput: unknown market.
        NoRuleInForce: the market's table does not cover the day.
    """
    return tuple(rule for rule in market_on(key, day).rules if rule.holds_on(day))


def find_rule(key: str, rule_id: str, day: date) -> Rule | None:
    """The rule of that id that holds on that day, or None if the market asks nothing then."""
    return next((rule for rule in rules_in_force(key, day) if rule.rule_id == rule_id), None)
