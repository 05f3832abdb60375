"""The papers of orders: one pick list for the shelves, a packing slip for each parcel."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from soapstock.codes.lot import LotCode
from soapstock.desk.desk import Desk, one_snapshot
from soapstock.desk.finding import find_recipe
from soapstock.errors import NotFound
from soapstock.units import mass_words, several
from soapstock.views.orders import Plan, Take, one, parcel_g, plans

if TYPE_CHECKING:
    from soapstock.ledger.read.trade import OrderRecord
    from soapstock.render.paper.plain import Paper, Section


CARE = "Soap dries as it is kept; each lot's net weight is on its label."
Packed = list[tuple["OrderRecord", Plan]]


@one_snapshot
def packed(desk: Desk, refs: Sequence[str] = ()) -> Packed:
    """Orders with what fills each: the plan while it is open, what was sent once it is not.

    Args:
        refs: which orders, in the order to serve them; none: all open ones that bars are there
            for, the one wanted soonest first.

    Raises:
        NotFound: no such order, or no open order can be packed.
    """
    with desk.ledger.read() as reader:
        chosen = [one(desk, ref) for ref in refs] or reader.orders(open_only=True)
    waiting = [order for order in chosen if not order.outcome]
    planned = {
        order.order_ref: plan for order, plan in zip(waiting, plans(desk, waiting), strict=True)
    }
    found = []
    for order in chosen:
        plan = planned.get(order.order_ref)
        if plan is None or (refs and not plan.takes):
            plan = _sent(desk, order) if order.shipped else plan or Plan(takes=(), lacking={})
        if refs or plan.takes:
            found.append((order, plan))
    if not found:
        raise NotFound("no open order has bars to pack")
    return found


def _sent(desk: Desk, order: OrderRecord) -> Plan:
    """What was sent of an order."""
    with desk.ledger.read() as reader:
        recipe = {b.lot_code: b.recipe_code for b in reader.batches(list(order.shipped))}
        sent = reader.shipments(order.order_ref)
    takes = tuple(
        Take(
            lot_code=s.lot_code,
            recipe_code=recipe[s.lot_code],
            place=s.from_place,
            bars=s.bars,
            best_before=None,
            bar_g=None,
        )
        for s in sent
    )
    return Plan(takes=takes, lacking={})


@one_snapshot
def write_pick_list(desk: Desk, orders: Packed, path: Path, packaging_g: float = 0.0) -> None:
    """One pick list for all of them as a PDF: place by place, with boxes to tick."""
    from soapstock.render.paper.plain import Column, Paper, Section, write_paper

    names = _names(desk, orders)
    rows = tuple(
        (
            "[   ]",
            take.place,
            take.lot_code.shown,
            names[take.recipe_code],
            str(take.bars),
            order.order_ref,
            take.best_before.isoformat() if take.best_before else "",
        )
        for take, order in sorted(
            ((take, order) for order, plan in orders for take in plan.takes),
            key=lambda x: (x[0].place, x[0].lot_code, x[1].order_ref),
        )
    )
    columns = (
        Column(head="", share=0.5),
        Column(head="Place"),
        Column(head="Lot", share=1.4),
        Column(head="Soap", share=1.4),
        Column(head="Bars", share=0.5, right=True),
        Column(head="For order"),
        Column(head="Best before", share=1.1),
    )
    one_of_them = len(orders) == 1
    title = orders[0][0].order_ref if one_of_them else f"of {len(orders)} orders"
    write_paper(
        path,
        Paper(
            title=f"Pick list {title}",
            subtitle=_for(orders[0][0]) if one_of_them else f"on {desk.today.isoformat()}",
            shop_name=desk.shop.maker,
            paper=desk.shop.paper,
            sections=(
                Section(heading="Take", columns=columns, rows=rows),
                *(_parcel(order, plan, packaging_g) for order, plan in orders),
                Section(facts=(("Picked by", ""), ("Checked by", ""))),
            ),
        ),
    )


def _parcel(order: OrderRecord, plan: Plan, packaging_g: float) -> Section:
    """What the packer must know of one order."""
    from soapstock.render.paper.plain import Section

    mass = parcel_g(plan.takes, packaging_g)
    weight = f"about {mass_words(mass, 0)}" if mass is not None else "not known"
    told = (("Note", order.note),) if order.note else ()
    lacking = "\n".join(
        f"LACKING: {several(n, 'bar')} of {code}" for code, n in plan.lacking.items()
    )
    return Section(
        heading=f"Parcel {order.order_ref} {_for(order)}",
        facts=(*told, ("Parcel mass today", weight)),
        text=lacking,
    )


@one_snapshot
def write_packing_slips(desk: Desk, orders: Packed, path: Path) -> None:
    """The packing slips as one PDF, each on its own page: what is in the parcel, with its lots."""
    from soapstock.render.paper.plain import write_papers

    names = _names(desk, orders)
    write_papers(path, [_slip(desk, order, plan, names) for order, plan in orders])


def _slip(desk: Desk, order: OrderRecord, plan: Plan, names: Mapping[str, str]) -> Paper:
    from soapstock.render.paper.plain import Column, Paper, Section

    bars: Counter[tuple[str, LotCode]] = Counter()
    for take in plan.takes:
        bars[take.recipe_code, take.lot_code] += take.bars
    rows = tuple((names[code], lot.shown, str(n)) for (code, lot), n in sorted(bars.items()))
    columns = (
        Column(head="Soap", share=2),
        Column(head="Lot", share=1.5),
        Column(head="Bars", share=0.6, right=True),
    )
    later = "\n".join(
        f"Not in this parcel: {several(n, 'bar')} of {names[code]}."
        for code, n in plan.lacking.items()
    )
    where = [part.strip() for part in (order.ship_to or order.contact).split(";")]
    if order.destination not in " ".join(where):
        where.append(order.destination)
    facts = (
        ("To", order.customer),
        *(("", part) for part in where),
        ("Packed on", desk.today.isoformat()),
        ("Note", order.note),
    )
    return Paper(
        title=f"Packing slip {order.order_ref}",
        subtitle=", ".join(desk.shop.address),
        shop_name=desk.shop.maker,
        paper=desk.shop.paper,
        foot=CARE,
        sections=(
            Section(facts=tuple(f for f in facts if f[1])),
            Section(heading="In this parcel", columns=columns, rows=rows, text=later),
        ),
    )


def _names(desk: Desk, orders: Packed) -> dict[str, str]:
    """The names of the soaps by recipe code."""
    codes = {line.recipe_code for order, _ in orders for line in order.lines}
    codes |= {take.recipe_code for _, plan in orders for take in plan.takes}
    with desk.ledger.read() as reader:
        return {code: find_recipe(reader, code)[0].name for code in codes}


def _for(order: OrderRecord) -> str:
    wanted = f", wanted by {order.wanted_on.isoformat()}" if order.wanted_on else ""
    return f"for {order.customer}{wanted}"
