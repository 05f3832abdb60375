"""What is ordered, what can be promised, which lots an order takes."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import accumulate
from typing import TYPE_CHECKING, Any

from soapstock.codes.lot import LotCode
from soapstock.desk.desk import Desk, one_snapshot
from soapstock.units import several
from soapstock.views.batch import BatchView, mass_now_g, views

if TYPE_CHECKING:
    from soapstock.ledger.read.reader import Reader
    from soapstock.ledger.read.trade import OrderRecord


SOLD_DIRECT = "sold direct"  # what an order's list says of bars sold without an order


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


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderRow:
    """An order: `lines` is bars by recipe, `reserved` and `shipped` bars by lot.

    `owed` is bars ordered less those sent, none once it is closed. Bars sold without an order
    have a row whose `order` is empty and whose `outcome` says so.
    """

    order: str
    customer: str
    taken_on: date
    wanted_by: date | None
    lines: Mapping[str, int]
    bars: int
    reserved: Mapping[LotCode, int]
    shipped: Mapping[LotCode, int]
    owed: int
    outcome: str
    reason: str
    destination: str
    ship_to: str
    contact: str
    note: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PromiseRow:
    """Bars of a recipe from a day on; `promise` says what each figure means."""

    recipe: str
    from_: date
    supply: int
    wanted: int
    kept: int
    undecided: int
    free: int
    short: int


@dataclass(frozen=True, slots=True, kw_only=True)
class WaitingRow:
    """Who waits for bars of a recipe; `there_now` is yes, or not yet."""

    customer: str
    recipe: str
    bars: int
    there_now: str
    contact: str


def lacking_words(lacking: Mapping[str, int]) -> str:
    """Bars that an order lacks by recipe, such as `3 of DRF, 1 of EBB`."""
    return ", ".join(f"{bars} of {code}" for code, bars in sorted(lacking.items()))


def listed(desk: Desk, *, everything: bool) -> list[OrderRow]:
    """Orders as rows, the one wanted soonest first; with everything also what was sold direct."""
    with desk.reading() as (_, reader):
        found = reader.orders(open_only=not everything)
        rows = [_row(order) for order in found]
        return rows + _sold_direct(reader, found) if everything else rows


def _sold_direct(reader: Reader, orders: Sequence[OrderRecord]) -> list[OrderRow]:
    """Bars sold without an order, one row for each buyer and day."""
    known = {order.order_ref for order in orders}
    lots: dict[tuple[date, str, str], Counter[LotCode]] = defaultdict(Counter)
    recipes: dict[tuple[date, str, str], Counter[str]] = defaultdict(Counter)
    for batch in reader.batches():
        for sent in batch.shipments:
            if sent.order_ref in known:
                continue
            key = (sent.on, sent.customer, sent.destination)
            lots[key][batch.lot_code] += sent.bars
            recipes[key][batch.recipe_code] += sent.bars
    return [
        OrderRow(
            order="",
            customer=customer,
            taken_on=day,
            wanted_by=None,
            lines=dict(recipes[day, customer, where]),
            bars=sum(sold.values()),
            reserved={},
            shipped=dict(sold),
            owed=0,
            outcome=SOLD_DIRECT,
            reason="",
            destination=where,
            ship_to="",
            contact="",
            note="",
        )
        for (day, customer, where), sold in sorted(lots.items())
    ]


def _row(order: OrderRecord) -> OrderRow:
    """An order as a record; lines of one recipe are added up."""
    wanted: Counter[str] = Counter()
    for line in order.lines:
        wanted[line.recipe_code] += line.bars
    return OrderRow(
        order=order.order_ref,
        customer=order.customer,
        taken_on=order.taken_on,
        wanted_by=order.wanted_on,
        lines=dict(wanted),
        bars=order.bars,
        reserved=order.reserved,
        shipped=order.shipped,
        owed=0 if order.outcome else max(order.bars - sum(order.shipped.values()), 0),
        outcome=order.outcome or "open",
        reason=order.outcome_reason,
        destination=order.destination,
        ship_to=order.ship_to,
        contact=order.contact,
        note=order.note,
    )


def one(desk: Desk, order_ref: str) -> OrderRecord:
    """One order. Raises NotFound."""
    with desk.ledger.read() as reader:
        return reader.order(order_ref)


def promise(desk: Desk, *, optimistic: bool = False) -> list[PromiseRow]:
    """Bars that may still be promised, by recipe and day.

    Supply comes on the day a batch is expected to be ready, by its late bound (5 % risk) unless
    `optimistic` asks for the middle one; batches that are stopped, or too light for
    what they declare, supply nothing. Demand goes on
    the day an open order is wanted, at once when it names none. What is free on a day is the least
    that supply exceeds demand on that day or any later one, so no promise breaks an older one.
    `kept` bars are reserved for orders, whatever their day, and stand in `wanted`.
    `undecided` bars are in the supply: they are cured and dry, but wait for a test or a release.
    """
    with desk.reading() as (here, reader):
        stock = views(here, in_stock=True)
        waiting = reader.orders(open_only=True)
        lot_recipe = recipes_sent(reader, waiting)
    return promise_of(desk, stock, waiting, lot_recipe, optimistic=optimistic)


def promise_of(
    desk: Desk,
    stock: Sequence[BatchView],
    waiting: Sequence[OrderRecord],
    lot_recipe: dict[LotCode, str],
    *,
    optimistic: bool = False,
) -> list[PromiseRow]:
    """The same of batches and orders already read; `lot_recipe` names the lots sent for them."""
    moves: dict[str, dict[date, list[int]]] = defaultdict(lambda: defaultdict(lambda: [0, 0]))
    undecided: dict[str, int] = defaultdict(int)
    kept: dict[str, int] = defaultdict(int)
    recipe_of = lot_recipe | {item.facts.lot_code: item.facts.recipe_code for item in stock}
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
        for lot, bars in order.reserved.items():
            kept[recipe_of.get(lot, "")] += bars
    return [
        row
        for code in sorted(moves)
        for row in _promise_rows(code, moves[code], undecided[code], kept[code])
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


def recipes_sent(reader: Reader, waiting: Sequence[OrderRecord]) -> dict[LotCode, str]:
    """The recipe of each lot of which bars were sent for these orders."""
    lots = sorted({lot for order in waiting for lot in order.shipped})
    return {batch.lot_code: batch.recipe_code for batch in reader.batches(lots)}


def still_wanted(order: OrderRecord, lot_recipe: dict[LotCode, str]) -> dict[str, int]:
    """Bars of an order not yet shipped, by recipe."""
    wanted: dict[str, int] = defaultdict(int)
    for line in order.lines:
        wanted[line.recipe_code] += line.bars
    for lot, bars in order.shipped.items():
        wanted[lot_recipe.get(lot, "")] -= bars
    return {code: bars for code, bars in wanted.items() if bars > 0}


def _promise_rows(
    code: str, days: dict[date, list[int]], undecided: int, kept: int
) -> list[PromiseRow]:
    order = sorted(days)
    supply = list(accumulate(days[day][0] for day in order))
    wanted = list(accumulate(days[day][1] for day in order))
    over = [there - asked for there, asked in zip(supply, wanted, strict=True)]
    return [
        PromiseRow(
            recipe=code,
            from_=day,
            supply=supply[n],
            wanted=wanted[n],
            kept=kept,
            undecided=undecided,
            free=max(min(over[n:]), 0),
            short=max(-over[n], 0),
        )
        for n, day in enumerate(order)
    ]


def plan(desk: Desk, order: OrderRecord, *, one_lot: bool = False, place: str = "") -> Plan:
    """Which bars fill an order, first expired first; bars kept for other orders are left alone.

    Of lots that expire together, one that fills a line whole comes before several that share it;
    `one_lot` prefers a lot that fills the line whole even when another expires sooner.

    Args:
        place: the only place to take from; any when empty.
    """
    return plans(desk, [order], one_lot=one_lot, place=place)[0]


def plans(
    desk: Desk,
    orders: Sequence[OrderRecord],
    *,
    one_lot: bool = False,
    place: str = "",
) -> list[Plan]:
    """The plans of several orders, each from what those before it leave."""
    with desk.reading() as (here, reader):
        bars = ready_bars(here, reader, only=place)
        recipe_of = bars.recipe_of | recipes_sent(reader, orders)
    return [
        bars.fill(still_wanted(order, recipe_of), order.reserved, one_lot=one_lot)
        for order in orders
    ]


def pick(desk: Desk, wanted: Mapping[str, int], *, only: str = "", but: str = "") -> Plan:
    """Which bars that nobody has kept fill `wanted` bars by recipe; from or without one place."""
    with desk.reading() as (here, reader):
        return ready_bars(here, reader, only=only, but=but).fill(wanted, {})


def ready_bars(desk: Desk, reader: Reader, *, only: str = "", but: str = "") -> ReadyBars:
    """The bars that may go out on the desk's day, at one place only or without one."""
    kept = reader.reserved_by_lot()
    items = [v for v in views(desk, in_stock=True) if v.readiness.state == "ready"]
    return ReadyBars([v for v in items if not v.expired], kept, only=only, but=but)


class ReadyBars:
    """Ready bars by lot and place, from which one plan after the other takes its part."""

    def __init__(
        self,
        items: Sequence[BatchView],
        kept: Mapping[LotCode, int],
        *,
        only: str,
        but: str,
    ) -> None:
        self.items = items
        self.recipe_of = {v.facts.lot_code: v.facts.recipe_code for v in items}
        self.free = {v.facts.lot_code: v.bars - kept.get(v.facts.lot_code, 0) for v in items}
        self.at = {
            v.facts.lot_code: {
                place: bars
                for place, bars in v.facts.for_sale().items()
                if only in ("", place) and place != but
            }
            for v in items
        }

    def fill(
        self,
        wanted: Mapping[str, int],
        reserved: Mapping[LotCode, int],
        *,
        one_lot: bool = False,
    ) -> Plan:
        """Take what fills `wanted` bars by recipe, counting bars that are `reserved` for it."""
        takes: list[Take] = []
        lacking: dict[str, int] = {}
        for code, bars in wanted.items():
            there = {
                lot: min(max(self.free[lot], 0) + reserved.get(lot, 0), sum(self.at[lot].values()))
                for lot, recipe in self.recipe_of.items()
                if recipe == code
            }
            rest = bars
            chosen = [v for v in self.items if there.get(v.facts.lot_code)]
            for item in _in_turn(chosen, there, bars, one_lot=one_lot):
                lot = item.facts.lot_code
                part = min(rest, there[lot])
                takes += self._from_places(item, part)
                self.free[lot] -= max(part - reserved.get(lot, 0), 0)
                rest -= part
            if rest:
                lacking[code] = rest
        return Plan(takes=tuple(takes), lacking=lacking)

    def _from_places(self, item: BatchView, bars: int) -> list[Take]:
        lot, takes = item.facts.lot_code, []
        shelf = item.facts.on_shelf()
        turn = sorted(self.at[lot].items(), key=lambda x: (x[0] not in shelf, -x[1]))
        for place, there in turn:
            part = min(bars, there)
            if part <= 0:
                continue
            self.at[lot][place] -= part
            bars -= part
            takes.append(
                Take(
                    lot_code=lot,
                    recipe_code=item.facts.recipe_code,
                    place=place,
                    bars=part,
                    best_before=item.best_before,
                    bar_g=mass_now_g(item),
                )
            )
        return takes


def _in_turn(
    items: list[BatchView], free: dict[LotCode, int], bars: int, *, one_lot: bool
) -> list[BatchView]:
    def turn(item: BatchView) -> tuple[Any, ...]:
        whole = free[item.facts.lot_code] >= bars
        expires = item.best_before or date.max
        head = (not whole, expires) if one_lot else (expires, not whole)
        return (*head, item.facts.poured_on, item.facts.lot_code)

    return sorted(items, key=turn)


def parcel_g(takes: Sequence[Take], packaging_g: float = 0.0) -> float | None:
    """Mass of a parcel from the bars' mass today, g; None where a bar's mass is not known."""
    if any(take.bar_g is None for take in takes):
        return None
    return packaging_g + sum(take.bars * (take.bar_g or 0.0) for take in takes)


@one_snapshot
def ready_at(desk: Desk, place: str) -> dict[str, tuple[str, int]]:
    """The kinds that stand at a place and may be sold: name and bars by recipe."""
    found: dict[str, tuple[str, int]] = {}
    for item in views(desk, in_stock=True):
        there = item.facts.places.get(place, 0)
        if there > 0 and item.readiness.state == "ready" and not item.expired:
            before = found.get(item.facts.recipe_code, ("", 0))[1]
            found[item.facts.recipe_code] = (item.recipe.name, before + there)
    return dict(sorted(found.items()))


@one_snapshot
def kept_and_free(desk: Desk) -> dict[str, tuple[int, int]]:
    """Ready bars by recipe: those kept for orders, and those kept for none."""
    with desk.ledger.read() as reader:
        reserved = reader.reserved_by_lot()
    found: dict[str, tuple[int, int]] = {}
    for item in views(desk, in_stock=True):
        if item.readiness.state == "ready" and not item.expired:
            held = min(reserved.get(item.facts.lot_code, 0), item.bars)
            kept, free = found.get(item.facts.recipe_code, (0, 0))
            found[item.facts.recipe_code] = (kept + held, free + item.bars - held)
    return found


@one_snapshot
def left_short(desk: Desk, order_ref: str) -> list[str]:
    """A sentence for each recipe of an order whose free bars no longer do for orders before it.

    Before it is what is wanted sooner, or as soon and taken earlier; without a day means now.
    """
    mine = one(desk, order_ref)
    with desk.ledger.read() as reader:
        others = [o for o in reader.orders(open_only=True) if o.order_ref != mine.order_ref]
        lots = {lot for order in others for lot in (*order.shipped, *order.reserved)}
        recipe_of = {b.lot_code: b.recipe_code for b in reader.batches(sorted(lots))}
    turn = (mine.wanted_on or date.min, mine.entry_id)
    before = [o for o in others if (o.wanted_on or date.min, o.entry_id) < turn]
    found = []
    for code, (_, free) in sorted(kept_and_free(desk).items()):
        if code not in {line.recipe_code for line in mine.lines}:
            continue
        waits = {o.order_ref: _not_kept(o, code, recipe_of) for o in before}
        refs = [ref for ref, bars in waits.items() if bars]
        if (wanted := sum(waits.values())) > free:
            bars = several(free, "bar")
            found.append(f"{bars} of {code} left for {wanted} that go before: {', '.join(refs)}")
    return found


def _not_kept(order: OrderRecord, code: str, recipe_of: dict[LotCode, str]) -> int:
    """Bars of a recipe an order still wants and nothing is kept for."""
    kept = sum(bars for lot, bars in order.reserved.items() if recipe_of.get(lot) == code)
    return max(still_wanted(order, recipe_of).get(code, 0) - kept, 0)


@one_snapshot
def in_mould(desk: Desk) -> dict[str, int]:
    """Pots by recipe that stand in the mould: nobody has counted their bars yet."""
    found: dict[str, int] = defaultdict(int)
    for item in views(desk, in_stock=True):
        if item.readiness.state == "in mould":
            found[item.facts.recipe_code] += 1
    return dict(sorted(found.items()))


@one_snapshot
def free_now(desk: Desk) -> dict[str, int]:
    """Bars by recipe that are ready and that no open order asks for; below zero when short."""
    free: dict[str, int] = defaultdict(int)
    for item in views(desk, in_stock=True):
        if item.readiness.state == "ready" and not item.expired:
            free[item.facts.recipe_code] += item.bars
    with desk.ledger.read() as reader:
        open_orders = reader.orders(open_only=True)
        recipe_of = recipes_sent(reader, open_orders)
    for order in open_orders:
        for code, bars in still_wanted(order, recipe_of).items():
            free[code] -= bars
    return free


@one_snapshot
def waiting(desk: Desk) -> list[WaitingRow]:
    """The waiting list, first come first: `there_now` when ready bars are free for them today."""
    free = free_now(desk)
    with desk.ledger.read() as reader:
        wants = reader.wants()
    rows = []
    for want in wants:
        there = free[want.recipe_code] >= want.bars
        free[want.recipe_code] -= want.bars if there else 0
        rows.append(
            WaitingRow(
                customer=want.customer,
                recipe=want.recipe_code,
                bars=want.bars,
                there_now="yes" if there else "not yet",
                contact=want.contact,
            )
        )
    return rows
