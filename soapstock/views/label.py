"""The wording of a lot's label, with what it was computed from."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

from soapstock.codes.reading import qr_text
from soapstock.desk.allergen_file import load_certificates
from soapstock.desk.desk import Desk, one_snapshot
from soapstock.desk.finding import find_recipe, read_lot
from soapstock.errors import BadInput, Mend, RuleBroken
from soapstock.labelling.alkalinity import PhReading, check_ph
from soapstock.labelling.declaration import declare
from soapstock.labelling.law import Rule, find_rule
from soapstock.labelling.netweight import net_weight
from soapstock.labelling.wording import LabelFacts, word_label
from soapstock.units import format_g, mg_from_g
from soapstock.views.batch import BatchView, view
from soapstock.views.herd import herd_answers
from soapstock.views.poured import free_alkali

if TYPE_CHECKING:
    from soapstock.codes.lot import LotCode
    from soapstock.labelling.declaration import Declaration
    from soapstock.labelling.netweight import NetWeight
    from soapstock.labelling.wording import LabelWording
    from soapstock.recipes.precautions import Precaution
    from soapstock.views.poured import Poured


@dataclass(frozen=True, slots=True, kw_only=True)
class LabelText:
    """The wording of a lot's label, with what it was computed from and what to look at.

    `claims` are what its own words claim and the ledger's answers; `notes` begins with them.
    """

    item: BatchView
    market: str
    declaration: Declaration
    net: NetWeight
    wording: LabelWording
    claims: tuple[str, ...]
    notes: tuple[str, ...]


@one_snapshot
def label_text(
    desk: Desk,
    lot: str,
    *,
    market: str | None = None,
    names: str | None = None,
    style: str | None = None,
    declared_g: Decimal | None = None,
    language: str = "en",
    scent: str | None = None,
    opened_months: int | None = None,
    price: str = "",
) -> LabelText:
    """The wording of the label of a lot.

    Args:
        market: one of the markets of `soapstock rules`; the shop's own when None.
        names: `poured` or `finished` convention; the market's own when None.
        style: ingredient names as `eu`, `us` or `plain`; the market's own when None.
        declared_g: declared weight, g, which must be what the batch declares.
        language: of the statement words.
        scent: `named` lists each essential oil, `grouped` prints Parfum or Fragrance.
        opened_months: months of use after opening, where no date is due.
        price: as it is to stand on a shelf card.

    Raises:
        RuleBroken: the batch is rejected, its bars are not expected to keep the declared weight,
            it declares another, or a rule of the market would be broken.
        BadInput: no declared weight is known.
    """
    code = read_lot(desk, lot, kind="batch")
    item = view(desk, code)
    chosen = market or desk.shop.market
    ph_notes = _refuse_unfit(desk, item, chosen)
    weight = declared_weight(item, declared_g)
    weight_notes = _weight_notes(item, weight, find_rule(chosen, "average", desk.today))
    declaration = declaration_of(
        desk, item, market=chosen, names=names, style=style, language=language, scent=scent
    )
    net = net_weight(weight, chosen, desk.today)
    _refuse_other_weight(item, weight)
    wording = word_label(
        replace(
            _label_facts(desk, item, chosen, weight, declaration),
            language=language,
            opened_months=opened_months,
            price=price,
        )
    )
    state = item.readiness.state
    unready = (
        []
        if state == "ready"
        else [f"{code.shown} is {state}: these labels may not go on sale yet."]
    )
    why = [f"Best-before: {item.keeping_why}."]
    claims = (*wording.must_fix, *herd_answers(desk, code, wording.claims))
    return LabelText(
        item=item,
        market=chosen,
        declaration=declaration,
        net=net,
        wording=wording,
        claims=claims,
        notes=(*claims, *unready, *weight_notes, *ph_notes, *declaration.notes, *why),
    )


def _refuse_unfit(desk: Desk, item: BatchView, market: str) -> tuple[str, ...]:
    """Refuse a label to bars that may never be sold; what a pH on record says else."""
    gates, code = item.readiness.gates, item.facts.lot_code
    if item.readiness.state == "rejected":
        raise RuleBroken(f"{code.shown} gets no label: {gates['released'].reason}")
    ph = [PhReading(on=t.on, value=t.value) for t in item.facts.tests if t.method == "ph"]
    notes = check_ph(ph, market, desk.today)
    if free_alkali(item.facts)[0] is False:
        raise RuleBroken(f"{code.shown} gets no label: {gates['tested'].reason}")
    return tuple(notes)


def _label_facts(
    desk: Desk, item: BatchView, market: str, weight_g: Decimal, declaration: Declaration
) -> LabelFacts:
    """What stands on the label of a batch whoever asks for it."""
    shop, recipe, code = desk.shop, item.recipe, item.facts.lot_code
    there = shop.selling_in(market)
    return LabelFacts(
        market=market,
        maker_name=shop.maker,
        maker_address=shop.address,
        maker_contact=shop.contact,
        responsible=there.responsible,
        origin=there.origin,
        recipe_name=recipe.name,
        identity=recipe.identity,
        net_weight=net_weight(weight_g, market, desk.today),
        declaration=declaration,
        lot_code=code.shown,
        made_on=item.facts.poured_on,
        best_before=item.best_before,
        qr_text=qr_text(code, shop.web or None, shop.gtin_for(recipe.code)),
        on=desk.today,
        precautions=_precautions(desk, item),
        scent_line=recipe.scent_line,
        story=recipe.story,
        cure_days=item.cure_days,
        bars=item.facts.unmould.bars if item.facts.unmould else 0,
        pair_weight=net_weight(weight_g, market, desk.today, bars=2),
    )


def declaration_of(
    desk: Desk,
    batch: BatchView | Poured,
    *,
    market: str | None = None,
    names: str | None = None,
    style: str | None = None,
    language: str = "en",
    scent: str | None = None,
) -> Declaration:
    """A lot's ingredient list as its label prints it today; arguments as for `label_text`."""
    return declare(
        batch.actual,
        batch.composition,
        batch.recipe,
        market=market or desk.shop.market,
        convention=names,
        style=style,
        on=desk.today,
        scent=scent,
        certificates=load_certificates(desk.shop.folder),
        language=language,
        poured_on=batch.facts.poured_on,
    )


def _precautions(desk: Desk, item: BatchView) -> tuple[Precaution, ...]:
    """The recipe's precautions as poured, and those its newest version has learned since."""
    with desk.ledger.read() as reader:
        newest, _ = find_recipe(reader, item.recipe.code)
    return tuple(dict.fromkeys([*item.recipe.precautions, *newest.precautions]))


def declared_weight(item: BatchView, declared_g: Decimal | None) -> Decimal:
    """The weight to declare, g: the one given, else the recipe's. Raises BadInput without any."""
    weight = item.recipe.declared_weight_g if declared_g is None else declared_g
    if weight is None:
        raise BadInput(
            f"recipe {item.recipe.code} declares no weight",
            hint='add declared_weight = "113 g" to the recipe for batches to come',
            mend=Mend("declare", lot=item.facts.lot_code.shown),
        )
    return weight


def _refuse_other_weight(item: BatchView, weight: Decimal) -> None:
    """Refuse a weight that the batch does not declare: gate, promise and record know only its own.

    Raises:
        RuleBroken: it declares another, or none.
    """
    own = item.recipe.declared_weight_g
    if own is not None and mg_from_g(own) == mg_from_g(weight):
        return
    code = item.facts.lot_code.shown
    declares = "no weight yet" if own is None else format_g(own, 1)
    raise RuleBroken(
        f"{code} declares {declares}: a label of it cannot say {format_g(weight, 1)}",
        mend=Mend("declare", lot=code),
    )


def pack_day(item: BatchView) -> float:
    """Days after the pour at which the bars are packed: when ready, or today if later."""
    ready = item.readiness.ready_by
    days = float(item.day)
    if ready is not None:
        days = max(days, float((ready.expected - item.facts.poured_on).days))
    return days


def _weight_notes(item: BatchView, declared_g: Decimal, rule: Rule | None) -> list[str]:
    if item.forecast is None:
        return ["Not yet unmoulded: the declared weight is not checked against any bar."]
    day = pack_day(item)
    chance = item.forecast.chance_mean_at_least(float(declared_g), day)
    mass = item.forecast.mass_at(day)
    said = (
        f"At pack a bar is expected to weigh {mass.nominal:.1f} g "
        f"({mass.low:.1f} to {mass.high:.1f} g); {100 * chance:.0f} % chance the average keeps "
        f"{format_g(declared_g, 1)}."
    )
    if chance < 0.5:
        cited = f" ({rule.citation})" if rule is not None else ""
        raise RuleBroken(
            f"declared {format_g(declared_g, 1)} is more than these bars will likely weigh at pack "
            f"({mass.nominal:.1f} g)",
            hint=f"declare less; the average may not fall below the label{cited}",
            mend=Mend("declare", lot=item.facts.lot_code.shown),
        )
    return [said]


@dataclass(frozen=True, slots=True, kw_only=True)
class NetRow:
    """The declared net weight, and how it stands on the label."""

    g: Decimal
    oz: Decimal
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SaidRow:
    """A statement of the label and the rule behind it."""

    kind: str
    text: str
    rule: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LabelRow:
    """The words of a lot's label as a record."""

    lot: LotCode
    market: str
    declaration: str
    convention: str
    net_weight: NetRow
    statements: tuple[SaidRow, ...]
    qr: str
    made_on: date
    best_before: date | None
    cautions: tuple[str, ...]
    notes: tuple[str, ...]


def label_row(label: LabelText) -> LabelRow:
    """The record of a label's words."""
    net, wording = label.net, label.wording
    return LabelRow(
        lot=label.item.facts.lot_code,
        market=label.market,
        declaration=label.declaration.text,
        convention=label.declaration.convention,
        net_weight=NetRow(g=net.g, oz=net.oz, text=net.text),
        statements=tuple(
            SaidRow(kind=s.kind, text=s.text, rule=s.rule) for s in wording.statements
        ),
        qr=wording.qr_text,
        made_on=label.item.facts.poured_on,
        best_before=label.item.best_before,
        cautions=tuple(wording.cautions),
        notes=label.notes,
    )
