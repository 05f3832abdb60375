"""What is ordered, what can be promised, which lots an order takes."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any

from soapstock.codes.lot import LotCode
from soapstock.desk.desk import Desk, one_snapshot
from soapstock.views.batch import BatchView, mass_now_g, views

if TYPE_CHECKING:
    from soapstock.ledger.read.trade import OrderRecord


@dataclass(frozen=True, slots=True, kw_only=True)
class Take:
    """Bars of one lot to take from one place for an order."""

    lot_code: LotCode
    recipe_code: str
    place: str
    bars: int
    best_before: date | None
    bar_g: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """How an order can be filled; `lacking` is bars by recipe that cannot."""

    takes: tuple[Take, ...]
    lacking: dict[str, int]


def listed(desk: Desk, *, everything: bool) -> list[dict[str, Any]]:
    """Orders as rows, the one wanted soonest first."""
    with desk.ledger.read() as reader:
        return [record(o) for o in reader.orders(open_only=not everything)]


def record(order: OrderRecord) -> dict[str, Any]:
    """An order as a JSON record; lines of one recipe are added up."""
    wanted: Counter[str] = Counter()
    for line in order.lines:
        wanted[line.recipe_code] += line.bars
    return {
        "order": order.order_ref,
        "customer": order.customer,
        "taken_on": order.taken_on,
        "wanted_by": order.wanted_on,
        "lines": dict(wanted),
        "bars": order.bars,
        "reserved": {code.shown: n for code, n in order.reserved.items()},
        "shipped": {code.shown: n for code, n in order.shipped.items()},
        "outcome": order.outcome or "open",
        "reason": order.outcome_reason,
        "destination": order.destination,
        "contact": order.contact,
        "note": order.note,
    }


def one(desk: Desk, order_ref: str) -> OrderRecord:
    """One order. Raises NotFound."""
    with desk.ledger.read() as reader:
        return reader.order(order_ref)


def promise(desk: Desk, *, optimistic: bool = False) -> list[dict[str, Any]]:
    """Bars that may still be promised, by recipe and day.

    Supply comes on the day a batch is expected to be ready, by its late bound (5 % risk) unless
    `optimistic` asks for the middle one; batches that are stopped, or too light for
    what they declare, supply nothing. Demand goes on
    the day an open order is wanted, at once when it names none. What is free on a day is the least
    that supply exceeds demand on that day or any later one, so no promise breaks an older one.
    `undecided` bars are in the supply because their days are up, but wait for a test or a release.
    """
    with desk.reading() as (here, reader):
        stock = views(here, in_stock=True)
        waiting = reader.orders(open_only=True)
        lot_recipe = {b.lot_code: b.recipe_code for b in reader.batches(_shipped_lots(waiting))}
    return promise_of(desk, stock, waiting, lot_recipe, optimistic=optimistic)


def promise_of(
    desk: Desk,
    stock: Sequence[BatchView],
    waiting: Sequence[OrderRecord],
    lot_recipe: dict[LotCode, str],
    *,
    optimistic: bool = False,
) -> list[dict[str, Any]]:
    """The same of batches and orders already read; `lot_recipe` names the lots sent for them."""
    moves: dict[str, dict[date, list[int]]] = defaultdict(lambda: defaultdict(lambda: [0, 0]))
    undecided: dict[str, int] = defaultdict(int)
    for item in stock:
        day = supply_day(item, optimistic=optimistic)
        if day is None or item.bars <= 0:
            continue
        code = item.facts.recipe_code
        moves[code][max(day, desk.today)][0] += item.bars
        if day <= desk.today and item.readiness.state != "ready":
            undecided[code] += item.bars
    for order in waiting:
        for code, bars in still_wanted(order, lot_recipe).items():
            moves[code][max(order.wanted_on or desk.today, desk.today)][1] += bars
    return [
        row for code in sorted(moves) for row in _promise_rows(code, moves[code], undecided[code])
    ]


def supply_day(item: BatchView, *, optimistic: bool) -> date | None:
    """The day a batch's bars may be promised for, or None when they may not."""
    if item.stopped or item.readiness.state == "gone" or item.readiness.too_light:
        return None
    if item.readiness.state == "ready":
        return item.today
    ready = item.ready_by
    if ready is None:
        return None
    return ready.expected if optimistic else ready.late


def _shipped_lots(waiting: Sequence[OrderRecord]) -> list[LotCode]:
    return sorted({lot for order in waiting for lot in order.shipped})


def still_wanted(order: OrderRecord, lot_recipe: dict[LotCode, str]) -> dict[str, int]:
    """Bars of an order not yet shipped, by recipe."""
    wanted: dict[str, int] = defaultdict(int)
    for line in order.lines:
        wanted[line.recipe_code] += line.bars
    for lot, bars in order.shipped.items():
        wanted[lot_recipe.get(lot, "")] -= bars
    return {code: bars for code, bars in wanted.items() if bars > 0}


def _promise_rows(code: str, days: dict[date, list[int]], undecided: int) -> list[dict[str, Any]]:
    rows: list[dict[str, Any]] = []
    supply = demand = 0
    for day in sorted(days):
        supply += days[day][0]
        demand += days[day][1]
        rows.append(
            {
                "recipe": code,
                "from": day,
                "supply": supply,
                "wanted": demand,
                "undecided": undecided,
            }
        )
    least = None
    for row in reversed(rows):
        over = row["supply"] - row["wanted"]
        least = over if least is None else min(least, over)
        row["free"] = max(least, 0)
        row["short"] = max(-over, 0)
    return rows


def plan(desk: Desk, order: OrderRecord, *, one_lot: bool = False) -> Plan:
    """Which bars fill an order, first expired first; bars kept for other orders are left alone.

    Of lots that expire together, one that fills a line whole comes before several that share it;
    `one_lot` prefers a lot that fills the line whole even when another expires sooner.
    """
    with desk.reading() as (here, reader):
        kept = reader.reserved_by_lot()
        ready = [v for v in views(here, in_stock=True) if v.readiness.state == "ready"]
        sent = {b.lot_code: b.recipe_code for b in reader.batches(list(order.shipped))}
    sound = [v for v in ready if not v.expired]
    recipe_of = {v.facts.lot_code: v.facts.recipe_code for v in sound}
    free = {
        v.facts.lot_code: v.bars
        - kept.get(v.facts.lot_code, 0)
        + order.reserved.get(v.facts.lot_code, 0)
        for v in sound
    }
    wanted = still_wanted(order, recipe_of | sent)
    takes: list[Take] = []
    lacking: dict[str, int] = {}
    for code, bars in wanted.items():
        chosen = [v for v in sound if v.facts.recipe_code == code and free[v.facts.lot_code] > 0]
        rest = bars
        for item in _in_turn(chosen, free, bars, one_lot=one_lot):
            part = min(rest, free[item.facts.lot_code])
            takes += _from_places(item, code, part)
            rest -= part
        if rest:
            lacking[code] = rest
    return Plan(takes=tuple(takes), lacking=lacking)


def _in_turn(
    items: list[BatchView], free: dict[LotCode, int], bars: int, *, one_lot: bool
) -> list[BatchView]:
    def turn(item: BatchView) -> tuple[Any, ...]:
        whole = free[item.facts.lot_code] >= bars
        expires = item.best_before or date.max
        head = (not whole, expires) if one_lot else (expires, not whole)
        return (*head, item.facts.poured_on, item.facts.lot_code)

    return sorted(items, key=turn)


def _from_places(item: BatchView, recipe_code: str, bars: int) -> list[Take]:
    takes = []
    shelf = item.facts.on_shelf()
    places = sorted(item.facts.for_sale().items(), key=lambda x: (x[0] not in shelf, -x[1]))
    for place, there in places:
        part = min(bars, there)
        if part > 0:
            takes.append(
                Take(
                    lot_code=item.facts.lot_code,
                    recipe_code=recipe_code,
                    place=place,
                    bars=part,
                    best_before=item.best_before,
                    bar_g=mass_now_g(item),
                )
            )
            bars -= part
    return takes


def parcel_g(takes: Sequence[Take], packaging_g: float = 0.0) -> float | None:
    """Mass of a parcel from the bars' mass today, g; None where a bar's mass is not known."""
    if any(take.bar_g is None for take in takes):
        return None
    return packaging_g + sum(take.bars * (take.bar_g or 0.0) for take in takes)


@one_snapshot
def waiting(desk: Desk) -> list[dict[str, Any]]:
    """The waiting list, first come first: `there_now` when ready bars are free for them today."""
    free: dict[str, int] = defaultdict(int)
    for item in views(desk, in_stock=True):
        if item.readiness.state == "ready":
            free[item.facts.recipe_code] += item.bars
    with desk.ledger.read() as reader:
        wants = reader.wants()
        open_orders = reader.orders(open_only=True)
        shipped = reader.batches(_shipped_lots(open_orders))
    recipe_of = {b.lot_code: b.recipe_code for b in shipped}
    for order in open_orders:
        for code, bars in still_wanted(order, recipe_of).items():
            free[code] -= bars
    rows = []
    for want in wants:
        there = free[want.recipe_code] >= want.bars
        free[want.recipe_code] -= want.bars if there else 0
        rows.append(
            {
                "customer": want.customer,
                "recipe": want.recipe_code,
                "bars": want.bars,
                "there_now": "yes" if there else "not yet",
                "contact": want.contact,
            }
        )
    return rows
