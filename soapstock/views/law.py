"""Reading the law: a market's rules listed, words of a page, a label and its weight explained."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, TypeAlias

from soapstock.desk.desk import one_snapshot
from soapstock.desk.finding import read_lot
from soapstock.errors import BadInput, Mend
from soapstock.labelling.advice import advise_declared
from soapstock.labelling.allergens import due_allergens
from soapstock.labelling.claim_lists import languages_for
from soapstock.labelling.claims import check_claims
from soapstock.labelling.colours import allowed_colours
from soapstock.labelling.explain import explain, placement_words
from soapstock.labelling.front import front_of
from soapstock.labelling.law import get_market, market_on, markets, rules_in_force
from soapstock.labelling.netweight import net_weight
from soapstock.labelling.type_size import size_steps
from soapstock.views.batch import view
from soapstock.views.herd import herd_answers
from soapstock.views.label import label_text, pack_day

if TYPE_CHECKING:
    from soapstock.codes.lot import LotCode
    from soapstock.desk.desk import Desk
    from soapstock.labelling.claims import ClaimHit
    from soapstock.labelling.colours import Allowed
    from soapstock.labelling.explain import Explained
    from soapstock.labelling.type_size import SizeStep


@dataclass(frozen=True, slots=True, kw_only=True)
class MarketRow:
    """A market whose rules are known, and the day from which they are."""

    market: str
    title: str
    from_: date


@dataclass(frozen=True, slots=True, kw_only=True)
class RuleRow:
    """One dated rule of a market."""

    rule: str
    topic: str
    required: bool
    text: str
    citation: str
    confidence: str
    from_: date
    until: date | None


@dataclass(frozen=True, slots=True, kw_only=True)
class AllergenRow:
    """An allergen that a market wants named, from a day on."""

    number: int
    name: str
    cas: str
    from_: date
    citation: str
    confidence: str


def market_rows() -> list[MarketRow]:
    """The markets whose rules are known."""
    found = [get_market(key) for key in markets()]
    return [MarketRow(market=one.key, title=one.title, from_=one.starts) for one in found]


def rule_rows(market: str, on: date) -> list[RuleRow]:
    """The rules of a market in force on a day.

    Raises:
        BadInput: unknown market; NoRuleInForce: the market is not covered on that day.
    """
    return [
        RuleRow(
            rule=rule.rule_id,
            topic=rule.topic,
            required=rule.required,
            text=rule.text,
            citation=rule.citation,
            confidence=rule.confidence,
            from_=rule.starts,
            until=rule.ends,
        )
        for rule in rules_in_force(market, on)
    ]


def placement_text(market: str, on: date) -> str:
    """Where the net weight stands in a market, in words, for a panel that all rules bind."""
    return placement_words(market, on, panel_area_cm2=1e6)


def allergen_rows(market: str, on: date) -> list[AllergenRow]:
    """The allergens a market wants named on a day."""
    return [
        AllergenRow(
            number=allergen.number,
            name=allergen.name,
            cas="; ".join(allergen.cas),
            from_=starts,
            citation=citation,
            confidence=allergen.confidence,
        )
        for allergen, starts, citation in due_allergens(market, on)
    ]


def colour_rows(market: str, on: date) -> tuple[Allowed, ...]:
    """The colours a market allows, where it allows only those of a list."""
    return allowed_colours(market_on(market, on))


LawRow: TypeAlias = "RuleRow | SizeStep | AllergenRow | Allowed"
LISTS: Mapping[str, Callable[[str, date], Sequence[LawRow]]] = {
    "rules": rule_rows,
    "sizes": size_steps,
    "allergens": allergen_rows,
    "colours": colour_rows,
}


def claims_in(text: str, market: str, language: str | None = None) -> tuple[ClaimHit, ...]:
    """Claims a text makes, for a market. Raises BadInput for an unknown market or language."""
    return check_claims(text, market, language)


def claim_lists_used(market: str, language: str | None = None) -> tuple[str, ...]:
    """Languages whose lists a text is held against. Raises BadInput as claims_in does."""
    return languages_for(market, language)


def herd_of(desk: Desk, lot: str, hits: tuple[ClaimHit, ...]) -> tuple[str, ...]:
    """What the ledger says to the herd claims among hits, for one lot. Raises NotFound."""
    return herd_answers(desk, read_lot(desk, lot, kind="batch"), hits)


@one_snapshot
def label_words(desk: Desk, lot: str, market: str | None, language: str | None = None) -> str:
    """All words of a lot's label, one statement a line; in English unless said otherwise."""
    made = label_text(desk, lot, market=market, language=language or "en")
    return "\n".join(statement.text for statement in made.wording.statements)


@dataclass(frozen=True, slots=True, kw_only=True)
class StatementRow:
    """A statement of a label, the rule behind its words, and the least height of its letters."""

    statement: str
    text: str
    required: bool
    rule: str
    confidence: str
    min_mm: float | None
    size_because: str
    size_rule: str
    size_confidence: str
    place: str


@dataclass(frozen=True, slots=True, kw_only=True)
class StatementRows:
    """All statements of a lot's label."""

    statements: tuple[StatementRow, ...]


@one_snapshot
def explain_label(
    desk: Desk, lot: str, *, market: str | None = None, panel_cm2: float | None = None
) -> StatementRows:
    """Every statement of a lot's label with the rules behind its words, size and place.

    Args:
        panel_cm2: area of the package's principal display panel, cm2; the front of the bar in a
            close wrap when None, if the recipe gives the bar's shape.
    """
    made = label_text(desk, lot, market=market)
    if panel_cm2 is None:
        panel_cm2, _ = front_of(made.item.recipe.bar)
    found = explain(made.wording, panel_cm2)
    return StatementRows(statements=tuple(map(_statement, found)))


def _statement(one: Explained) -> StatementRow:
    size = one.size
    return StatementRow(
        statement=one.statement.kind,
        text=one.statement.text,
        required=one.statement.required,
        rule=one.statement.rule,
        confidence=one.statement.confidence,
        min_mm=None if size is None else size.min_mm,
        size_because="give the panel's size" if size is None else size.because,
        size_rule="" if size is None else size.citation,
        size_confidence="" if size is None else size.confidence,
        place=one.place,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class DeclaredCheck:
    """A declared weight against a lot's drying.

    Attributes:
        text: how it stands on the label; checked_g: the larger of its two declarations.
        pack_day: days since the pour.
        chance_at_pack, chance_at_best_before: that the average keeps it, 0 to 1.
        largest_g_at_pack, largest_g_to_best_before: that keep it with `chance_asked`.
        tolerance_g: by which one bar may be short.
    """

    lot: LotCode
    text: str
    checked_g: Decimal
    pack_day: float
    chance_at_pack: float
    chance_at_best_before: float | None
    largest_g_at_pack: Decimal | None
    largest_text: str
    largest_g_to_best_before: Decimal | None
    chance_asked: float
    tolerance_g: Decimal | None
    tolerance_rule: str
    tolerance_because: str
    notes: tuple[str, ...]


@one_snapshot
def check_declared(
    desk: Desk,
    lot: str,
    *,
    declared_g: Decimal | None = None,
    market: str | None = None,
    chance: float,
) -> DeclaredCheck:
    """A declared weight against the lot's drying: chances kept, tolerance, largest it could be.

    Args:
        chance: how sure the average is to keep it, at which the largest weights are asked.

    Raises:
        BadInput: no declared weight is known, or the batch is not unmoulded yet.
    """
    item = view(desk, read_lot(desk, lot, kind="batch"))
    weight = item.recipe.declared_weight_g if declared_g is None else declared_g
    if weight is None:
        raise BadInput(
            f"recipe {item.recipe.code} declares no weight",
            mend=Mend("declare", lot=item.facts.lot_code.shown),
        )
    if item.forecast is None or item.start_g is None:
        raise BadInput(
            f"{item.facts.lot_code.shown} is not unmoulded yet, so nothing is known of its weight",
            mend=Mend("unmould", lot=item.facts.lot_code.shown),
        )
    day, place = pack_day(item), market or desk.shop.market
    end = (
        None if item.best_before is None else float((item.best_before - item.facts.poured_on).days)
    )
    advice = advise_declared(
        weight,
        item.forecast,
        market=place,
        pack_day=day,
        best_before_day=end,
        top_g=item.start_g,
        chance=chance,
        on=desk.today,
    )
    tolerance = advice.tolerance
    return DeclaredCheck(
        lot=item.facts.lot_code,
        text=advice.weight.text,
        checked_g=advice.checked_g,
        pack_day=day,
        chance_at_pack=advice.chance_at_pack,
        chance_at_best_before=advice.chance_at_best_before,
        largest_g_at_pack=advice.largest_g,
        largest_text=_printed(advice.largest_g, place),
        largest_g_to_best_before=advice.largest_to_end_g,
        chance_asked=chance,
        tolerance_g=None if tolerance is None else tolerance.g,
        tolerance_rule="" if tolerance is None else tolerance.citation,
        tolerance_because="" if tolerance is None else tolerance.because,
        notes=tuple(advice.notes),
    )


def _printed(grams: Decimal | None, market: str) -> str:
    """How a weight would stand on the label, or empty."""
    return "" if grams is None else net_weight(grams, market).text
