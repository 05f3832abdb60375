"""The papers of an order: the pick list for the shelf, the packing slip for the parcel."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from soapstock.codes.lot import LotCode
from soapstock.desk.desk import Desk, one_snapshot
from soapstock.desk.finding import find_recipe
from soapstock.units import several
from soapstock.views.orders import Plan, one, parcel_g, plan

if TYPE_CHECKING:
    from soapstock.ledger.read.trade import OrderRecord
    from soapstock.render.paper.plain import Paper


CARE = "Soap dries as it is kept; each lot's net weight is on its label."


def packed_plan(desk: Desk, order: OrderRecord) -> Plan:
    """What fills the order: the plan while it is open, what was shipped once it is not."""
    from soapstock.views.orders import Take

    if not order.outcome and not order.shipped:
        return plan(desk, order)
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
def write_pick_list(desk: Desk, order_ref: str, path: Path, packaging_g: float = 0.0) -> Plan:
    """The pick list as a PDF: lot, place and count, shelf by shelf, with boxes to tick."""
    from soapstock.render.paper.plain import Column, Paper, Section, write_paper

    order = one(desk, order_ref)
    chosen = packed_plan(desk, order)
    rows = tuple(
        (
            "[   ]",
            take.place,
            take.lot_code.shown,
            take.recipe_code,
            str(take.bars),
            take.best_before.isoformat() if take.best_before else "",
        )
        for take in sorted(chosen.takes, key=lambda t: (t.place, t.lot_code))
    )
    columns = (
        Column(head="", share=0.5),
        Column(head="Place"),
        Column(head="Lot", share=1.5),
        Column(head="Recipe"),
        Column(head="Bars", share=0.6, right=True),
        Column(head="Best before", share=1.2),
    )
    lacking = "\n".join(
        f"LACKING: {several(n, 'bar')} of {code}" for code, n in chosen.lacking.items()
    )
    mass = parcel_g(chosen.takes, packaging_g)
    weight = f"about {mass:.0f} g" if mass is not None else "not known"
    told = (("Note", order.note),) if order.note else ()
    facts = (*told, ("Parcel mass today", weight), ("Packed by", ""), ("Checked by", ""))
    write_paper(
        path,
        Paper(
            title=f"Pick list {order.order_ref}",
            subtitle=_for(order),
            shop_name=desk.shop.maker,
            paper=desk.shop.paper,
            sections=(
                Section(heading="Take", columns=columns, rows=rows, text=lacking),
                Section(heading="Parcel", facts=facts),
            ),
        ),
    )
    return chosen


@one_snapshot
def write_packing_slip(desk: Desk, order_ref: str, path: Path) -> Plan:
    """The packing slip as a PDF: what is in the parcel, with its lots."""
    from soapstock.render.paper.plain import Column, Paper, Section, write_paper

    order = one(desk, order_ref)
    chosen = packed_plan(desk, order)
    with desk.ledger.read() as reader:
        names = {t.recipe_code: find_recipe(reader, t.recipe_code)[0].name for t in chosen.takes}
    bars: dict[tuple[str, LotCode], int] = {}
    for take in chosen.takes:
        key = (take.recipe_code, take.lot_code)
        bars[key] = bars.get(key, 0) + take.bars
    rows = tuple((names[code], lot.shown, str(n)) for (code, lot), n in sorted(bars.items()))
    columns = (
        Column(head="Soap", share=2),
        Column(head="Lot", share=1.5),
        Column(head="Bars", share=0.6, right=True),
    )
    later = "\n".join(
        f"Not in this parcel: {several(n, 'bar')} of {code}." for code, n in chosen.lacking.items()
    )
    facts = (("To", order.customer), ("Destination", order.destination), ("Note", order.note))
    paper: Paper = Paper(
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
    write_paper(path, paper)
    return chosen


def _for(order: OrderRecord) -> str:
    wanted = f", wanted by {order.wanted_on.isoformat()}" if order.wanted_on else ""
    return f"for {order.customer}{wanted}"
