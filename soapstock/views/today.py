"""What is to be done today: the next step of each batch and order, and what runs low or expires."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import TYPE_CHECKING, Literal

from soapstock.desk.desk import Desk
from soapstock.errors import BadInput
from soapstock.exchange.tabular import SPREAD
from soapstock.ledger.places import KINDS
from soapstock.units import g_from_mg, mass_words, quantity_words, several
from soapstock.views.batch import BatchView, views
from soapstock.views.cure import PAYS_DAYS, UNMOULD_AFTER_DAYS, next_weigh_in
from soapstock.views.orders import PromiseRow, lacking_words, promise_of, recipes_sent, still_wanted
from soapstock.views.stock import places

if TYPE_CHECKING:
    from soapstock.codes.lot import LotCode
    from soapstock.ledger.read.trade import LabelCount, OrderRecord

What = Literal[
    "failed",
    "on hold",
    "expired",
    "short",
    "ship",
    "unmould",
    "look at",
    "declare less",
    "test",
    "weigh",
    "release",
    "labels",
    "low",
    "full",
    "expires",
    "wait",
]
# In the order of need: what may hurt or cheat somebody, then what others wait for, then the rest.
URGENCY: Mapping[What, int] = {what: n for n, what in enumerate(What.__args__)}  # type: ignore[attr-defined]


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One thing to do, or to know.

    Attributes:
        about: the lot, order, recipe, ingredient or place it is about.
        name: the soap or the customer, for people.
        due: the day it is due or was due; None when it has no day.
    """

    what: What
    about: str
    name: str = ""
    why: str = ""
    due: date | None = None

    def is_due(self, today: date) -> bool:
        """Whether it can be done, or should be known, today."""
        return self.what == "expires" or self.due is None or self.due <= today


def steps(desk: Desk, days: int) -> list[Step]:
    """All steps, those due by today first, each kind in the order of need; read in one snapshot.

    Args:
        days: how far ahead best-before dates are looked at.

    Raises:
        BadInput: no such look ahead.
    """
    if not 0 <= days <= 3660:
        raise BadInput(f"{several(days, 'day')} is too far to look ahead", hint="give 0 to 3660")
    with desk.reading() as (here, reader):
        stock = views(here, in_stock=True)
        orders = reader.orders(open_only=True)
        recipe_of = recipes_sent(reader, orders)
        recipe_of |= {v.facts.lot_code: v.facts.recipe_code for v in stock}
        kept = reader.reserved_by_lot()
        emptied = reader.batches([lot for lot in kept if lot not in recipe_of])
        recipe_of |= {b.lot_code: b.recipe_code for b in emptied}
        labels = {count.lot_code: count for count in reader.label_counts()}
        short = {row.recipe: row for row in promise_of(here, stock, orders, recipe_of) if row.short}
        found = [
            *(step for item in stock for step in _of_batch(here, item, labels, days)),
            *_of_orders(stock, orders, recipe_of, desk.today),
            *_shorts(short, kept, stock, recipe_of),
            *_of_stores(here, days),
        ]

    def need(step: Step) -> tuple[bool, int, date, str]:
        waits = not step.is_due(desk.today)
        return (waits, 0 if waits else URGENCY[step.what], step.due or date.min, step.about)

    return sorted(found, key=need)


@dataclass(frozen=True, slots=True, kw_only=True)
class StepRow:
    """A step, and whether it can be done or should be known today."""

    step: Step = field(metadata=SPREAD)
    now: bool


def step_row(step: Step, today: date) -> StepRow:
    """The record of a step."""
    return StepRow(step=step, now=step.is_due(today))


def next_step(desk: Desk, item: BatchView) -> Step | None:
    """The one next step of a batch; None when nothing of it waits."""
    what, why, due = _next_step(desk, item)
    if what is None:
        return None
    lot = item.facts.lot_code.shown
    return Step(what=what, about=lot, name=item.recipe.name, why=why, due=due)


def _of_batch(
    desk: Desk, item: BatchView, labels: Mapping[LotCode, LabelCount], days: int
) -> Iterator[Step]:
    lot, name = item.facts.lot_code.shown, item.recipe.name
    step = next_step(desk, item)
    if step is not None:
        yield step
    for problem in item.alarms:
        yield Step(what="look at", about=lot, name=name, why=problem.message)
    if item.facts.unmould is None or item.bars <= 0:
        return
    until = item.best_before
    if until is not None and until <= desk.today + timedelta(days=days):
        gone = item.expired
        bars = several(item.bars, "bar")
        yield Step(what="expired" if gone else "expires", about=lot, name=name, why=bars, due=until)
    if item.readiness.state == "ready":
        count = labels.get(item.facts.lot_code)
        lacking = item.bars - (count.left if count else 0)
        if lacking > 0:
            yield Step(what="labels", about=lot, name=name, why=f"print {lacking}")


def _next_step(desk: Desk, item: BatchView) -> tuple[What | None, str, date | None]:
    """The one next step of a batch, its reason and its day."""
    state, gates, facts = item.readiness.state, item.readiness.gates, item.facts
    cured = facts.poured_on + timedelta(days=item.cure_days)
    if state == "failed":
        return "failed", gates["tested"].reason, max(t.on for t in facts.tests if not t.passed)
    if state == "on hold":
        return "on hold", facts.decisions[-1].reason, facts.decisions[-1].on
    if state == "in mould":
        return "unmould", "", facts.poured_on + timedelta(days=UNMOULD_AFTER_DAYS)
    if state in ("ready", "rejected", "gone"):
        return None, "", None
    return _by_gates(desk, item, cured)


def _by_gates(desk: Desk, item: BatchView, cured: date) -> tuple[What, str, date | None]:
    """The next step of a batch that only its gates keep back."""
    state, gates = item.readiness.state, item.readiness.gates
    if item.readiness.too_light:
        return "declare less", gates["weight"].reason, None
    if state == "curing":
        return _while_curing(desk, item, cured)
    ready = item.ready_by
    up = min(ready.expected, desk.today) if ready else cured
    if state == "awaiting test":
        return "test", several(item.bars, "bar"), up
    if not gates["weight"].open:
        return "weigh", gates["weight"].reason, None
    return "release", several(item.bars, "bar"), up


def _while_curing(desk: Desk, item: BatchView, cured: date) -> tuple[What, str, date | None]:
    """The weigh-in that pays, if one does; else the day the batch is expected to be ready."""
    pays = next_weigh_in(desk, item)
    if pays is not None and pays.spread_now_days - pays.spread_then_days >= PAYS_DAYS:
        narrowed = f"dry date ±{pays.spread_now_days:.1f} to ±{pays.spread_then_days:.1f} d"
        return "weigh", narrowed, pays.on
    ready = item.ready_by
    return (
        "wait",
        "cure" if ready is None else "cure, then test",
        ready.expected if ready else cured,
    )


def _of_orders(
    stock: Sequence[BatchView],
    orders: Sequence[OrderRecord],
    recipe_of: Mapping[LotCode, str],
    today: date,
) -> Iterator[Step]:
    """Each open order: what of it can go out now, the one wanted soonest served first."""
    there: dict[LotCode, int] = {
        v.facts.lot_code: v.bars for v in stock if v.readiness.state == "ready" and not v.expired
    }
    free: dict[str, int] = defaultdict(int)
    for lot, bars in there.items():
        free[recipe_of[lot]] += bars
    held = [_kept(order, there, recipe_of) for order in orders]
    for mine in held:
        for code, bars in mine.items():
            free[code] -= bars
    for order, mine in zip(orders, held, strict=True):
        lacking = {}
        for code, bars in still_wanted(order, dict(recipe_of)).items():
            part = min(bars - min(bars, mine.get(code, 0)), max(free[code], 0))
            free[code] -= part
            if (rest := bars - mine.get(code, 0) - part) > 0:
                lacking[code] = rest
        what: What = "ship"
        if lacking:
            what = "wait" if (order.wanted_on or today) > today else "short"
        yield Step(
            what=what,
            about=order.order_ref,
            name=order.customer,
            why=f"lacks {lacking_words(lacking)}" if lacking else "all there",
            due=order.wanted_on,
        )


def _kept(
    order: OrderRecord, there: Mapping[LotCode, int], recipe_of: Mapping[LotCode, str]
) -> dict[str, int]:
    """Bars by recipe that are kept for an order and could go out."""
    found: dict[str, int] = defaultdict(int)
    for lot, bars in order.reserved.items():
        found[recipe_of[lot]] += min(bars, there.get(lot, 0))
    return found


def _shorts(
    short: Mapping[str, PromiseRow],
    kept: Mapping[LotCode, int],
    stock: Sequence[BatchView],
    recipe_of: Mapping[LotCode, str],
) -> Iterator[Step]:
    """Recipes whose bars do not cover the orders by their day; lots with more kept than there."""
    for code, row in short.items():
        why = f"pour: orders want {row.short} more than will be there by {row.from_}"
        yield Step(what="short", about=code, why=why)
    held = {v.facts.lot_code: v.bars for v in stock}
    for lot, bars in kept.items():
        if held.get(lot, 0) < bars:
            why = f"{several(bars, 'bar')} kept for orders, {held.get(lot, 0)} there"
            yield Step(what="short", about=lot.shown, name=recipe_of[lot], why=why)


def _of_stores(desk: Desk, days: int) -> Iterator[Step]:
    """Ingredient lots on hold or that expire, what is under its level, and places that are full."""
    with desk.ledger.read() as reader:
        lots = [lot for lot in reader.ingredient_lots() if lot.left_mg > 0]
        held: dict[tuple[str, str], int] = defaultdict(int)
        for line in reader.stock():
            if KINDS[line.place_kind].for_sale:
                held[line.item, line.unit] += line.quantity
        levels = reader.reorder_levels()
    for lot in lots:
        if lot.hold_reason:
            yield Step(
                what="on hold",
                about=lot.lot_code.shown,
                name=lot.ingredient,
                why=f"{mass_words(g_from_mg(lot.left_mg))}: {lot.hold_reason}",
            )
        until = lot.best_before
        if until is not None and until <= desk.today + timedelta(days=days):
            yield Step(
                what="expired" if until < desk.today else "expires",
                about=lot.lot_code.shown,
                name=lot.ingredient,
                why=mass_words(g_from_mg(lot.left_mg)),
                due=until,
            )
    for (item, unit), level in sorted(levels.items()):
        if held[item, unit] < level:
            there, asked = quantity_words(held[item, unit], unit), quantity_words(level, unit)
            yield Step(what="low", about=item, why=f"{there}, under {asked}")
    for place in places(desk):
        if place.room is not None and place.room <= 0:
            yield Step(what="full", about=place.place, why=f"{place.bars} of {place.capacity}")
