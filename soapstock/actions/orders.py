"""Orders: taken in, promised by date, allocated, packed, shipped or closed short."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from soapstock.actions.batches import BatchView, mass_now_g, views
from soapstock.actions.desk import Desk, find_recipe
from soapstock.actions.facts import Entered
from soapstock.actions.poured import for_sale
from soapstock.codes.lot import format_code
from soapstock.errors import BadInput, RuleBroken

if TYPE_CHECKING:
    from soapstock.ledger.read.trade import OrderRecord


@dataclass(frozen=True, slots=True, kw_only=True)
class TakenIn:
    """What came of importing a file of orders."""

    taken: tuple[str, ...]
    there_already: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Take:
    """Bars of one lot to take from one place for an order."""

    lot_code: str
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


def add(
    desk: Desk, order_ref: str, customer: str, lines: Sequence[str], *, contact: str = "",
    destination: str = "", wanted_on: date | None = None, on: date | None = None, note: str = "",
) -> Entered:  # fmt: skip
    """Take an order by hand; lines are written like `DRF=6`.

    Raises:
        BadInput: a line that cannot be read; NotFound: no such recipe.
    """
    from soapstock.ledger.facts import OrderFacts, OrderLineFacts

    wanted = []
    for line in lines:
        code, _, bars = line.partition("=")
        if not (bars.isascii() and bars.strip().isdigit() and len(bars) < 8):
            raise BadInput(f"'{line[:40]}' is no line of an order", hint="write RECIPE=BARS: DRF=6")
        with desk.ledger.read() as reader:
            recipe, _ = find_recipe(reader, code)
        wanted.append(OrderLineFacts(recipe_code=recipe.code, bars=int(bars)))
    facts = OrderFacts(
        order_ref=order_ref.strip(), customer=customer, contact=contact, destination=destination,
        wanted_on=wanted_on, lines=tuple(wanted),
    )  # fmt: skip
    with desk.ledger.write() as writer:
        entry = writer.add_order(desk.stamp(on, note), facts)
    bars_in_all = sum(line.bars for line in wanted)
    said = f"Order {order_ref} from {customer}: {bars_in_all} bars."
    return Entered(entry_id=entry, lot_code="", said=said)


def take_in(desk: Desk, path: Path, mapping: Path | None) -> TakenIn:
    """Import a CSV of orders, all or nothing; orders that are there already are left alone.

    Raises:
        BadInput: a line or the mapping is wrong; NotFound: a recipe or file is not there.
        RuleBroken: an order of that reference is there and says something else.
    """
    from soapstock.exchange.order_csv import OWN, read_mapping, read_orders
    from soapstock.exchange.text_file import read_text_file
    from soapstock.ledger.facts import OrderFacts, OrderLineFacts
    from soapstock.ledger.read.trade import orders as every_order
    from soapstock.shop import read_toml_file

    chosen = OWN
    if mapping is not None:
        chosen = read_mapping(read_toml_file(mapping, "mapping")[0], str(mapping))
    rows = read_orders(read_text_file(path, "file of orders"), chosen, str(path))
    taken, there = [], []
    with desk.ledger.read() as reader:
        known = {order.order_ref: order for order in every_order(reader.db)}
        for code in sorted({line[0] for row in rows for line in row.lines}):
            find_recipe(reader, code)
    with desk.ledger.write() as writer:
        for row in rows:
            lines = tuple(
                OrderLineFacts(recipe_code=code, bars=bars, price_cents=cents,
                               currency=desk.shop.currency if cents is not None else "")
                for code, bars, cents in row.lines
            )  # fmt: skip
            old = known.get(row.order_ref)
            if old is not None:
                if (old.customer, old.wanted_on, old.lines) != (row.customer, row.wanted_on, lines):
                    raise RuleBroken(
                        f"order {row.order_ref} is there already and says something else",
                        hint="nothing was taken in; cancel the old one or mend the file",
                    )
                there.append(row.order_ref)
                continue
            writer.add_order(desk.stamp(row.ordered_on), OrderFacts(
                order_ref=row.order_ref, customer=row.customer, contact=row.contact,
                destination=row.destination, wanted_on=row.wanted_on, lines=lines,
            ))  # fmt: skip
            taken.append(row.order_ref)
    return TakenIn(taken=tuple(taken), there_already=tuple(there))


def listed(desk: Desk, *, everything: bool) -> list[dict[str, Any]]:
    """Orders as rows, the one wanted soonest first."""
    from soapstock.ledger.read.trade import orders

    with desk.ledger.read() as reader:
        return [record(o) for o in orders(reader.db, open_only=not everything)]


def record(order: OrderRecord) -> dict[str, Any]:
    """An order as a JSON record."""
    return {
        "order": order.order_ref,
        "customer": order.customer,
        "taken_on": order.taken_on,
        "wanted_by": order.wanted_on,
        "lines": {line.recipe_code: line.bars for line in order.lines},
        "bars": order.bars,
        "reserved": {format_code(code): n for code, n in order.reserved.items()},
        "shipped": {format_code(code): n for code, n in order.shipped.items()},
        "outcome": order.outcome or "open",
        "reason": order.outcome_reason,
        "destination": order.destination,
        "contact": order.contact,
    }


def one(desk: Desk, order_ref: str) -> OrderRecord:
    """One order. Raises NotFound."""
    from soapstock.ledger.read.trade import order

    with desk.ledger.read() as reader:
        return order(reader.db, order_ref)


def promise(desk: Desk, *, optimistic: bool = False) -> list[dict[str, Any]]:
    """Bars that may still be promised, by recipe and day.

    Supply comes on the day a batch is expected to be ready, by its late bound (5 % risk) unless
    `optimistic` asks for the middle one; batches on hold or rejected supply nothing. Demand goes on
    the day an open order is wanted, at once when it names none. What is free on a day is the least
    that supply exceeds demand on that day or any later one, so no promise breaks an older one.
    `undecided` bars are in the supply because their days are up, but wait for a test or a release.
    """
    from soapstock.ledger.read.trade import orders

    moves: dict[str, dict[date, list[int]]] = defaultdict(lambda: defaultdict(lambda: [0, 0]))
    undecided: dict[str, int] = defaultdict(int)
    for item in views(desk, in_stock=True):
        day = supply_day(item, optimistic=optimistic)
        if day is None or item.bars <= 0:
            continue
        code = item.facts.recipe_code
        moves[code][max(day, desk.today)][0] += item.bars
        if day <= desk.today and item.readiness.state != "ready":
            undecided[code] += item.bars
    with desk.ledger.read() as reader:
        waiting = orders(reader.db, open_only=True)
        lot_recipe = {b.lot_code: b.recipe_code for b in reader.batches(_shipped_lots(waiting))}
    for order in waiting:
        for code, bars in _still_wanted(order, lot_recipe).items():
            moves[code][max(order.wanted_on or desk.today, desk.today)][1] += bars
    return [
        row for code in sorted(moves) for row in _promise_rows(code, moves[code], undecided[code])
    ]


def supply_day(item: BatchView, *, optimistic: bool) -> date | None:
    """The day a batch's bars may be promised for, or None when they may not."""
    if item.readiness.state in ("on hold", "rejected", "gone"):
        return None
    if item.readiness.state == "ready":
        return item.today
    ready = item.readiness.ready_by
    if ready is None:
        return None
    return ready.expected if optimistic else ready.late


def _shipped_lots(waiting: Sequence[OrderRecord]) -> list[str]:
    return sorted({lot for order in waiting for lot in order.shipped})


def _still_wanted(order: OrderRecord, lot_recipe: dict[str, str]) -> dict[str, int]:
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
        rows.append({"recipe": code, "from": day, "supply": supply, "wanted": demand,
                     "undecided": undecided})  # fmt: skip
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
    from soapstock.ledger.read.trade import reserved_by_lot

    with desk.ledger.read() as reader:
        kept = reserved_by_lot(reader.db)
    ready = [v for v in views(desk, in_stock=True) if v.readiness.state == "ready"]
    sound = [v for v in ready if v.best_before is None or v.best_before >= desk.today]
    recipe_of = {v.facts.lot_code: v.facts.recipe_code for v in sound}
    free = {
        v.facts.lot_code: v.bars - kept.get(v.facts.lot_code, 0)
        + order.reserved.get(v.facts.lot_code, 0)
        for v in sound
    }  # fmt: skip
    wanted = _still_wanted(order, recipe_of | _recipes_of(desk, order.shipped))
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


def _recipes_of(desk: Desk, lots: Any) -> dict[str, str]:
    with desk.ledger.read() as reader:
        return {b.lot_code: b.recipe_code for b in reader.batches(list(lots))}


def _in_turn(
    items: list[BatchView], free: dict[str, int], bars: int, *, one_lot: bool
) -> list[BatchView]:
    def turn(item: BatchView) -> tuple[Any, ...]:
        whole = free[item.facts.lot_code] >= bars
        expires = item.best_before or date.max
        head = (not whole, expires) if one_lot else (expires, not whole)
        return (*head, item.facts.poured_on, item.facts.lot_code)

    return sorted(items, key=turn)


def _from_places(item: BatchView, recipe_code: str, bars: int) -> list[Take]:
    takes = []
    places = sorted(
        for_sale(item.facts).items(),
        key=lambda x: (not x[0].startswith("shelf"), -x[1]),
    )
    for place, there in places:
        part = min(bars, there)
        if part > 0:
            takes.append(Take(
                lot_code=item.facts.lot_code, recipe_code=recipe_code, place=place, bars=part,
                best_before=item.best_before, bar_g=mass_now_g(item),
            ))  # fmt: skip
            bars -= part
    return takes


def reserve(desk: Desk, order_ref: str, *, one_lot: bool = False) -> tuple[Plan, int | None]:
    """Keep bars for an order as planned; the entry, or None when nothing more can be kept."""
    order = one(desk, order_ref)
    chosen = plan(desk, order, one_lot=one_lot)
    wanted: dict[str, int] = defaultdict(int)
    for take in chosen.takes:
        wanted[take.lot_code] += take.bars
    change = [
        (lot, wanted.get(lot, 0) - order.reserved.get(lot, 0))
        for lot in sorted({*wanted, *order.reserved})
    ]
    change = [(lot, bars) for lot, bars in change if bars]
    if not change:
        return chosen, None
    change.sort(key=lambda x: x[1])  # give free before taking
    with desk.ledger.write() as writer:
        return chosen, writer.reserve(desk.stamp(), order_ref, change)


def ship(
    desk: Desk, order_ref: str, *, short: bool = False, why: str = "", one_lot: bool = False,
    on: date | None = None,
) -> Plan:  # fmt: skip
    """Ship an order and close it, in one transaction.

    Only ready lots are taken. When bars lack, the maker decides: without `short` nothing ships.

    Raises:
        RuleBroken: bars lack and the maker did not say short, or nothing is left to ship.
    """
    order = one(desk, order_ref)
    if order.outcome:
        raise RuleBroken(f"order {order_ref} is closed: {order.outcome}")
    chosen = plan(desk, order, one_lot=one_lot)
    lacking = ", ".join(f"{n} of {code}" for code, n in chosen.lacking.items())
    if lacking and not short:
        raise RuleBroken(
            f"order {order_ref} lacks {lacking}",
            hint='wait, or send what is there: --short --why "..."',
        )
    if lacking and not why.strip():
        raise BadInput("shipping short needs a reason", hint='add --why "..."')
    if not chosen.takes:
        raise RuleBroken(f"order {order_ref} has nothing left to ship")
    stamp = desk.stamp(on)
    with desk.ledger.write() as writer:
        for take in chosen.takes:
            writer.ship(
                stamp, take.lot_code, take.bars, take.place, order.customer, order.order_ref,
                order.destination,
            )  # fmt: skip
        writer.close_order(stamp, order_ref, "short" if lacking else "shipped", why.strip())
    return chosen


def cancel(desk: Desk, order_ref: str, why: str) -> int:
    """Close an order without shipping; frees what was kept for it."""
    with desk.ledger.write() as writer:
        return writer.close_order(desk.stamp(), order_ref, "cancelled", why)


def take_back(
    desk: Desk, lot: str, bars: int, customer: str, *, order_ref: str = "", why: str = "",
    on: date | None = None,
) -> Entered:  # fmt: skip
    """Take bars back from a customer; they are held apart at `returned`."""
    from soapstock.actions.desk import read_lot

    code = read_lot(desk, lot, kind="batch")
    with desk.ledger.write() as writer:
        entry = writer.take_back(desk.stamp(on), code, bars, customer, order_ref, why)
    said = f"Took {bars} bars of {format_code(code)} back from {customer}; they are held apart."
    return Entered(entry_id=entry, lot_code=code, said=said)


def parcel_g(takes: Sequence[Take], packaging_g: float = 0.0) -> float | None:
    """Mass of a parcel from the bars' mass today, g; None where a bar's mass is not known."""
    if any(take.bar_g is None for take in takes):
        return None
    return packaging_g + sum(take.bars * (take.bar_g or 0.0) for take in takes)
