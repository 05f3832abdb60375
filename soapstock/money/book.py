"""From what the ledger holds to the flow of cost: what each lot cost itself, and its steps."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from typing import Literal, NamedTuple

from soapstock.money.costs import OWN_ORIGINS, Costs, OwnLot, in_cents, value_own
from soapstock.money.flow import Lot, LotMoney, Step, Way, flow

SpentOn = Literal["work", "packing", "energy", "fees", "other"]


class LotRow(NamedTuple):
    """A live lot: number, code, kind, ingredient key or recipe code, day."""

    id: int
    code: str
    kind: str
    item: str
    on: date


class ReceiptRow(NamedTuple):
    """What came in: masses in mg; `cents` is None where nobody wrote a cost down."""

    id: int
    mass_mg: int
    cents: int | None
    currency: str
    supplier: str
    animal: str
    raw_fat_mg: int | None


class PostedRow(NamedTuple):
    """What came to a place outside the stock for sale, or left it when below zero."""

    entry: int
    lot: int
    place: str
    unit: str
    quantity: int
    on: date


class SpentRow(NamedTuple):
    """Work, in minutes, or money spent on a lot; on none in particular when `lot` is None."""

    entry: int
    lot: int | None
    what: SpentOn
    minutes: int | None
    cents: int | None
    currency: str
    on: date
    note: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Rows:
    """Everything live that bears on cost, up to a day; each in the order it was entered.

    Attributes:
        rendered: lots that were made of other lots.
    """

    lots: Sequence[LotRow]
    receipts: Sequence[ReceiptRow]
    posted: Sequence[PostedRow]
    spent: Sequence[SpentRow]
    rendered: frozenset[int]


@dataclass(slots=True, kw_only=True)
class Book:
    """A shop's costs, followed.

    Attributes:
        lots: the lots as rows, by number.
        flowed: lots as they went into the flow.
        money: what became of each lot's cost.
        own: what each lot cost itself, by what for, in cents.
        minutes: work on each lot itself, as recorded or, for a batch, by the settings.
        worked: that work followed into bars as the cost is, in seconds; empty without any.
        made: good bars and rejects of each batch out of its mould.
        kept: bars kept back of each batch.
        out: the entry by which each batch left its mould.
        on: the day of each entry that moved something, or opened a lot.
        other_money: receipts in another currency: their cost counts for nothing.
    """

    lots: Mapping[int, LotRow]
    flowed: list[Lot]
    money: dict[int, LotMoney]
    own: dict[int, dict[str, int]]
    minutes: dict[int, Decimal]
    worked: dict[int, LotMoney]
    made: dict[int, tuple[int, int]]
    kept: Mapping[int, int]
    out: Mapping[int, int]
    on: dict[int, date]
    other_money: tuple[int, ...] = ()


@dataclass(slots=True)
class _Bars:
    """Batches' bars: good and rejected, by which entry, kept back; and the steps of all lots."""

    good: dict[int, int] = field(default_factory=dict)
    out: dict[int, int] = field(default_factory=dict)
    rejects: dict[int, int] = field(default_factory=lambda: defaultdict(int))
    kept: dict[int, int] = field(default_factory=lambda: defaultdict(int))
    steps: list[Step] = field(default_factory=list)


WAYS: Mapping[str, Way] = {
    "pot": "lot",
    "customer": "sold",
    "given": "given",
    "waste": "wasted",
    "count-difference": "wasted",
}


def keep_book(rows: Rows, costs: Costs, currency: str) -> Book:
    """Follow a shop's costs.

    Args:
        currency: the shop's; what was paid in another counts for nothing and is named.
    """
    lots = {lot.id: lot for lot in rows.lots}
    bars = _sort(rows.posted, lots, kept_carry=costs.kept_carry)
    own: dict[int, dict[str, int]] = defaultdict(dict)
    minutes = _conversion(rows, costs, currency, bars.good, own)
    flowed, other = _ingredients(rows, costs, currency, own)
    for lot in lots.values():
        if lot.kind == "batch":
            flowed.append(_batch(lot.id, bars, sum(own[lot.id].values()), costs))
    money = flow(flowed, bars.steps)
    return Book(
        lots=lots,
        flowed=flowed,
        money=money,
        own=own,
        minutes=minutes,
        worked=_follow_work(flowed, bars.steps, minutes),
        made={lot: (good, bars.rejects[lot]) for lot, good in bars.good.items()},
        kept=bars.kept,
        out=bars.out,
        on={lot.id: lot.on for lot in rows.lots} | {row.entry: row.on for row in rows.posted},
        other_money=other,
    )


def _sort(posted: Iterable[PostedRow], lots: Mapping[int, LotRow], *, kept_carry: bool) -> _Bars:
    """Tell what each posting was: out of the mould, into a pot, sold, given, wasted, kept."""
    bars = _Bars()
    rows = [row for row in posted if row.unit == "bars" or lots[row.lot].kind == "ingredient"]
    kept = _made_and_kept(rows, bars)
    went: set[tuple[int, int]] = set()
    for entry, lot, place, _, quantity, _ in rows:
        if place == "pot" and quantity < 0:
            continue
        if place == "waste" and bars.out.get(lot) == entry:
            bars.rejects[lot] += quantity
            bars.good[lot] -= quantity
        elif place == "retained":
            if kept_carry:
                bars.steps.append(Step(entry, lot, "kept", quantity))
        elif kept and not kept_carry and kept.get((entry, lot), 0) < 0:
            went.add((entry, lot))  # bars kept back, which carried nothing, went for good
        else:
            bars.steps.append(Step(entry, lot, WAYS[place], quantity, entry))
    for at, quantity in kept.items():
        if at not in went:
            bars.kept[at[1]] += quantity
    return bars


def _made_and_kept(rows: Iterable[PostedRow], bars: _Bars) -> dict[tuple[int, int], int]:
    """Note how each batch left its mould; what each entry kept back of a lot, by both."""
    kept: dict[tuple[int, int], int] = {}
    for row in rows:
        if row.place == "pot" and row.quantity < 0:
            bars.out[row.lot] = row.entry
            bars.good[row.lot] = -row.quantity
        elif row.place == "retained":
            kept[row.entry, row.lot] = row.quantity
    return kept


def _follow_work(
    flowed: Iterable[Lot], steps: Sequence[Step], minutes: Mapping[int, Decimal]
) -> dict[int, LotMoney]:
    """Work followed as cost is, in seconds."""
    if not minutes:
        return {}
    lots = [
        Lot(id=lot.id, pieces=lot.pieces, own_cents=int(60 * minutes.get(lot.id, 0)))
        for lot in flowed
    ]
    return flow(lots, steps)


def _batch(lot: int, bars: _Bars, own_cents: int, costs: Costs) -> Lot:
    """A batch; when no bar of it carries cost, what it cost is kept with its bars, or wasted."""
    good = bars.good.get(lot, 0)
    pieces = good if costs.kept_carry else good - bars.kept[lot]
    if lot in bars.good and pieces <= 0:
        bars.steps.append(Step(lot, lot, "kept" if good else "wasted", 1))
        pieces = 1
    return Lot(id=lot, pieces=pieces, own_cents=own_cents)


def _ingredients(
    rows: Rows, costs: Costs, currency: str, own: dict[int, dict[str, int]]
) -> tuple[list[Lot], tuple[int, ...]]:
    item = {lot.id: lot.item for lot in rows.lots}
    other = tuple(
        r.id for r in rows.receipts if r.cents is not None and r.currency not in ("", currency)
    )
    ours = [
        OwnLot(
            id=r.id,
            ingredient=item[r.id],
            mass_mg=r.mass_mg,
            raw_mg=r.raw_fat_mg or r.mass_mg,
            animal=r.animal,
        )
        for r in rows.receipts
        if r.cents is None and r.supplier in OWN_ORIGINS and r.id not in rows.rendered
    ]
    valued = value_own(costs, ours)
    found = []
    for r in rows.receipts:
        cents = r.cents if r.cents is not None else valued.get(r.id)
        if r.id in rows.rendered:
            cents = cents or 0  # it cost what its raw fat did
        if r.id in other:
            cents = None
        if cents:
            own[r.id]["bought" if r.cents is not None else "own fat"] = cents
        whole = sum(own[r.id].values())
        found.append(Lot(id=r.id, pieces=r.mass_mg, own_cents=whole, known=cents is not None))
    return found, other


def _conversion(
    rows: Rows,
    costs: Costs,
    currency: str,
    good: Mapping[int, int],
    own: dict[int, dict[str, int]],
) -> dict[int, Decimal]:
    """What was spent on each lot; for a batch, work, packing and energy by the settings, else.

    Costs of conversion count as cost of stock: labour, energy, packing for sale (IAS 2 paragraphs
    10 and 12); selling does not (16 (d)).
    """
    minutes = _recorded(rows, currency, own)
    batches = [lot.id for lot in rows.lots if lot.kind == "batch"]
    for lot in batches:
        bars = good.get(lot, 0)
        minutes.setdefault(lot, costs.minutes_pour + costs.minutes_bar * bars)
        usual = (("packing", costs.packing_bar * bars), ("energy", costs.energy_pour))
        for what, value in usual:
            if value and what not in own[lot]:
                own[lot][what] = in_cents(value)
    if costs.hour:
        for lot, worked in minutes.items():
            if worked:
                own[lot]["work"] = in_cents(costs.hour * worked / 60)
    return {lot: worked for lot, worked in minutes.items() if worked}


def _recorded(rows: Rows, currency: str, own: dict[int, dict[str, int]]) -> dict[int, Decimal]:
    """Minutes of work on record for each lot; what was paid goes to its own costs."""
    minutes: dict[int, Decimal] = {}
    for spent in rows.spent:
        if spent.lot is None:
            continue
        if spent.minutes is not None:
            minutes[spent.lot] = minutes.get(spent.lot, Decimal(0)) + spent.minutes
        elif spent.cents and spent.currency == currency:
            its = own[spent.lot]
            its[spent.what] = its.get(spent.what, 0) + spent.cents
    return minutes
