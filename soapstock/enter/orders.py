"""Orders are added, reserved, shipped, cancelled, taken back."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from soapstock.codes.lot import LotCode
from soapstock.desk.desk import Desk
from soapstock.desk.finding import find_recipe, read_lot
from soapstock.enter.entered import Entered
from soapstock.enter.money import Terms, sales_of, told
from soapstock.errors import BadInput, Mend, RuleBroken
from soapstock.exchange.order_csv import OWN, read_mapping, read_orders
from soapstock.exchange.text_file import MEGABYTE, read_text_file
from soapstock.ledger.facts import OrderFacts, OrderLineFacts, Sale, Want
from soapstock.ledger.read.money import Traded
from soapstock.ledger.read.trade import OrderRecord
from soapstock.money.share import up_to
from soapstock.units import several
from soapstock.views.orders import Plan, lacking_words, one, plan


@dataclass(frozen=True, slots=True, kw_only=True)
class TakenIn:
    """What came of importing a file of orders."""

    taken: tuple[str, ...]
    there_already: tuple[str, ...]


def add(
    desk: Desk,
    order_ref: str,
    customer: str,
    lines: Sequence[str],
    *,
    contact: str = "",
    destination: str = "",
    ship_to: str = "",
    wanted_on: date | None = None,
    on: date | None = None,
    note: str = "",
) -> Entered:
    """Take an order by hand; lines are written like `DRF=6`.

    Raises:
        BadInput: a line that cannot be read; NotFound: no such recipe.
    """
    wanted = []
    stamp = desk.stamp(on, note)
    with desk.writing() as (here, writer), here.ledger.read() as reader:
        for line in lines:
            code, bars = order_line(line)
            recipe, _ = find_recipe(reader, code)
            wanted.append(OrderLineFacts(recipe_code=recipe.code, bars=bars))
        facts = OrderFacts(
            order_ref=order_ref.strip(),
            customer=customer,
            contact=contact,
            destination=destination,
            ship_to=ship_to,
            wanted_on=wanted_on,
            lines=tuple(wanted),
        )
        entry = writer.add_order(stamp, facts)
    bars_in_all = sum(line.bars for line in wanted)
    said = f"Order {order_ref} from {customer}: {several(bars_in_all, 'bar')}."
    notes: tuple[str, ...] = ()
    if wanted_on is not None and wanted_on < desk.today:
        notes = (f"It is wanted by {wanted_on.isoformat()}, which is past: is the day right?",)
    return Entered(entry_id=entry, lot_code=None, said=said, notes=notes)


def order_line(line: str) -> tuple[str, int]:
    """Recipe and bars of a line such as `DRF=6`. Raises BadInput."""
    code, _, bars = line.partition("=")
    if not (bars.isascii() and bars.strip().isdigit() and len(bars) < 8):
        raise BadInput(f"'{line[:40]}' is not understood", hint="write RECIPE=BARS: DRF=6")
    return code, int(bars)


def take_in(desk: Desk, path: Path, mapping: Path | None) -> TakenIn:
    """Import a CSV of orders, all or nothing; orders that are there already are left alone.

    Raises:
        BadInput: a line or the mapping is wrong; NotFound: a recipe or file is not there.
        RuleBroken: an order of that reference is there and says something else.
    """
    chosen = OWN
    if mapping is not None:
        chosen = read_mapping(read_text_file(mapping, "mapping", most_bytes=MEGABYTE), str(mapping))
    rows = read_orders(read_text_file(path, "file of orders"), chosen, str(path))
    taken, there = [], []
    with desk.writing() as (here, writer), here.ledger.read() as reader:
        known = {order.order_ref: order for order in reader.orders()}
        for code in sorted({line[0] for row in rows for line in row.lines}):
            find_recipe(reader, code)
        for row in rows:
            lines = tuple(
                OrderLineFacts(
                    recipe_code=code,
                    bars=bars,
                    price_cents=cents,
                    currency=desk.shop.currency if cents is not None else "",
                )
                for code, bars, cents in row.lines
            )
            old = known.get(row.order_ref)
            if old is not None:
                if (old.customer, old.wanted_on, old.lines) != (row.customer, row.wanted_on, lines):
                    raise RuleBroken(
                        f"order {row.order_ref} is there already and says something else",
                        hint="nothing was taken in; cancel the old one or mend the file",
                    )
                there.append(row.order_ref)
                continue
            writer.add_order(
                desk.stamp(row.ordered_on, row.note),
                OrderFacts(
                    order_ref=row.order_ref,
                    customer=row.customer,
                    contact=row.contact,
                    destination=row.destination,
                    ship_to=row.ship_to,
                    wanted_on=row.wanted_on,
                    lines=lines,
                ),
            )
            taken.append(row.order_ref)
    return TakenIn(taken=tuple(taken), there_already=tuple(there))


def reserve(desk: Desk, order_ref: str, *, one_lot: bool = False) -> tuple[Plan, int | None]:
    """Keep bars for an order as planned; the entry, or None when nothing more can be kept."""
    stamp = desk.stamp()
    with desk.writing() as (here, writer):
        order = one(here, order_ref)
        chosen = plan(here, order, one_lot=one_lot)
        wanted: dict[LotCode, int] = defaultdict(int)
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
        return chosen, writer.reserve(stamp, order_ref, change)


def free(desk: Desk, order_ref: str) -> Entered:
    """Give free all bars kept for an order; the order stays open.

    Raises:
        RuleBroken: nothing is kept for it.
    """
    stamp = desk.stamp()
    with desk.writing() as (here, writer):
        order = one(here, order_ref)
        kept = [(lot, -bars) for lot, bars in sorted(order.reserved.items()) if bars]
        if not kept:
            raise RuleBroken(f"nothing is kept for order {order.order_ref}")
        entry = writer.reserve(stamp, order.order_ref, kept)
    bars = several(-sum(n for _, n in kept), "bar")
    said = f"{bars} kept for order {order.order_ref} may be promised again."
    return Entered(entry_id=entry, lot_code=None, said=said)


def ship(
    desk: Desk,
    order_ref: str,
    *,
    short: bool = False,
    why: str = "",
    one_lot: bool = False,
    from_place: str = "",
    terms: Terms | None = None,
    on: date | None = None,
) -> Plan:
    """Ship an order, in one transaction, and close it when nothing is owed any more.

    Only ready lots are taken. When bars lack, the maker decides: without `short` nothing ships.
    What a short shipment leaves stays owed: the order stays open until it is sent or cancelled.
    Bars are sold at the price typed, else the order's, else the list's.

    Raises:
        RuleBroken: bars lack and the maker did not say short, or nothing is left to ship.
    """
    stamp = desk.stamp(on, why.strip())
    with desk.writing() as (here, writer), here.ledger.read() as reader:
        order = one(here, order_ref)
        if order.outcome:
            raise RuleBroken(f"order {order.order_ref} is closed: {order.outcome}")
        chosen = plan(here, order, one_lot=one_lot, place=from_place)
        _judge_plan(order, chosen, short=short, why=why)
        parcel = [(take.recipe_code, take.bars) for take in chosen.takes]
        agreed = {
            line.recipe_code: line.price_cents
            for line in order.lines
            if line.price_cents is not None and line.currency == desk.shop.currency
        }
        day = stamp.happened_on
        sales = sales_of(here, reader, parcel, terms or Terms(), day, agreed)
        for take, sale in zip(chosen.takes, sales, strict=True):
            writer.ship(
                stamp,
                take.lot_code,
                take.bars,
                take.place,
                order.customer,
                order.order_ref,
                order.destination,
                sale,
            )
        if not chosen.lacking:
            writer.close_order(stamp, order_ref, "shipped", why.strip())
    return chosen


def _judge_plan(order: OrderRecord, chosen: Plan, *, short: bool, why: str) -> None:
    """Refuse what may not go out to an open order. Raises RuleBroken and BadInput as `ship`."""
    lacking = lacking_words(chosen.lacking)
    if lacking and not short:
        raise RuleBroken(
            f"order {order.order_ref} lacks {lacking}",
            hint="wait, or send what is there",
            mend=Mend("ship_short"),
        )
    if lacking and not why.strip():
        raise BadInput("shipping short needs a reason", mend=Mend("give_reason", example="..."))
    if not chosen.takes:
        raise RuleBroken(f"order {order.order_ref} has nothing left to ship")


def cancel(desk: Desk, order_ref: str, why: str) -> int:
    """Close an order without shipping; frees what was kept for it."""
    with desk.ledger.write() as writer:
        return writer.close_order(desk.stamp(), order_ref, "cancelled", why)


def take_back(
    desk: Desk,
    lot: str,
    bars: int,
    customer: str,
    *,
    order_ref: str = "",
    why: str = "",
    refund: bool = True,
    on: date | None = None,
) -> Entered:
    """Take bars back from a customer; they are held apart at `returned`.

    Args:
        refund: their price is paid back, as they were last sold to this customer.
    """
    stamp = desk.stamp(on)
    with desk.writing() as (here, writer), here.ledger.read() as reader:
        code = read_lot(here, lot, kind="batch")
        sale = _paid_back(reader.traded(here.today), code, customer, bars) if refund else None
        entry = writer.take_back(stamp, code, bars, customer, order_ref, why, sale)
    said = (
        f"Took {several(bars, 'bar')} of {code.shown} back from {customer}; "
        f"{'it is' if bars == 1 else 'they are'} held apart"
    )
    paid = told(desk, [sale], [bars])
    said += f"; {paid} to be paid back." if paid else "."
    return Entered(entry_id=entry, lot_code=code, said=said)


def _paid_back(traded: Sequence[Traded], code: LotCode, customer: str, bars: int) -> Sale | None:
    """What bars were last sold for to a customer, with their part of its discount and tax.

    None when nobody wrote it down.
    """
    for last in reversed(traded):
        if last.lot_code == code and last.customer == customer and last.bars >= bars:
            return last.sale and replace(
                last.sale,
                discount_cents=up_to(last.sale.discount_cents, bars, last.bars),
                tax_cents=up_to(last.sale.tax_cents, bars, last.bars),
                postage_cents=0,
            )
    return None


def want(desk: Desk, who: str, what: str, *, contact: str = "") -> Entered:
    """Put someone on the waiting list for bars of a recipe, as `DRF=4`; 0 bars end it.

    Raises:
        BadInput: not understood; NotFound: no such recipe.
    """
    name, _, count = what.partition("=")
    if not (count.isascii() and count.isdigit() and len(count) < 6):
        raise BadInput(f"'{what}' is not understood", hint="write it like DRF=4")
    with desk.writing() as (here, writer), here.ledger.read() as reader:
        recipe, _ = find_recipe(reader, name)
        fact = Want(customer=who, recipe_code=recipe.code, bars=int(count), contact=contact)
        entry = writer.want(desk.stamp(), fact)
    said = f"waits for {several(fact.bars, 'bar')}" if fact.bars else "no longer waits"
    return Entered(entry_id=entry, lot_code=None, said=f"{who} {said} of {recipe.name}.")
