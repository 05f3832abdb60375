"""`order ...`, `promise` and `take-back`: orders and what may be promised."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from soapstock.cli.frame.output import (
    NAMES_CUSTOMERS,
    cells,
    emit,
    emit_record,
    say,
    say_notes,
    table,
    tell_entered,
)
from soapstock.cli.frame.session import AsCsv, AsJson, From, Lot, Note, On, day_or_none, desk
from soapstock.cli.frame.terms import Buyer, Discount, Postage, PriceEach, Tax, terms
from soapstock.errors import BadInput
from soapstock.units import mass_words, parse_mass_g, several

if TYPE_CHECKING:
    from soapstock.views.orders import OrderRow, Plan

Ref = Annotated[str, typer.Argument(metavar="ORDER", help="The order's reference.")]
Refs = Annotated[list[str], typer.Argument(metavar="ORDER...", help="Orders' references.")]
OneLot = Annotated[
    bool, typer.Option("--one-lot", help="Prefer one lot a line to the first expired.")
]


def order_add(
    ctx: typer.Context,
    ref: Annotated[
        str | None, typer.Argument(metavar="[ORDER", help="The order's reference.")
    ] = None,
    lines: Annotated[
        list[str] | None, typer.Argument(metavar="RECIPE=BARS...]", help="Such as DRF=6.")
    ] = None,
    customer: Annotated[str, typer.Option("--from", metavar="NAME", help="Who ordered.")] = "",
    wanted: Annotated[
        str | None, typer.Option("--wanted-by", metavar="DATE", help="Day it should leave.")
    ] = None,
    destination: Annotated[str, typer.Option(help="Where it goes, such as a state.")] = "",
    ship_to: Annotated[str, typer.Option(help="Address on the parcel; a ; parts lines.")] = "",
    contact: Annotated[str, typer.Option(help="How to reach them.")] = "",
    on: On = None,
    note: Note = "",
) -> None:
    """With no reference it asks for orders, one a line."""
    from soapstock.cli.rounds.ordering import order_all
    from soapstock.enter import orders

    wanted_on = day_or_none(wanted, "--wanted-by")
    with desk(ctx) as opened:
        if ref is None:
            order_all(opened, wanted_on=wanted_on, on=day_or_none(on), note=note)
            return
        done = orders.add(
            opened,
            ref,
            customer,
            lines or [],
            contact=contact,
            destination=destination,
            ship_to=ship_to,
            wanted_on=wanted_on,
            on=day_or_none(on),
            note=note,
        )
    tell_entered(done)


def order_import(
    ctx: typer.Context,
    path: Annotated[Path, typer.Argument(metavar="FILE.csv", help="Orders, one line an item.")],
    mapping: Annotated[
        Path | None, typer.Option(metavar="FILE.toml", help="Which column is which.")
    ] = None,
) -> None:
    """The same file twice counts once.

    Columns: order, customer, recipe, bars; wanted_by, ordered_on, destination, ship_to, contact,
    price, note. Other names are mapped by a file:

    [columns] order = "Order No" ... [recipes] "Driftwood bar" = "DRF", "Box" = "DRF=4 EBB=2";
    above them delimiter = ";" and date_format = "%d/%m/%Y".
    """
    from soapstock.enter import orders

    with desk(ctx) as opened:
        done = orders.take_in(opened, path, mapping)
    say(f"Took in {several(len(done.taken), 'order')}; there already: {len(done.there_already)}.")


def order_list(
    ctx: typer.Context,
    everything: Annotated[bool, typer.Option("--all", help="Closed ones too.")] = False,
    as_json: AsJson = False,
    as_csv: AsCsv = False,
) -> None:
    from soapstock.views import orders

    with desk(ctx) as opened, opened.reading() as (here, _):
        rows = orders.listed(here, everything=everything)
        if emit(rows, as_json=as_json, as_csv=as_csv):
            return
        bars = orders.kept_and_free(here)
    taken = [row for row in rows if row.outcome != orders.SOLD_DIRECT]
    heads = ["Order", "Customer", "Wanted by", "Wants", "Kept", "Sent", "Owed"]
    table(
        "Orders",
        [*heads, "State"] if everything else heads,
        [_order_cells(row, everything) for row in taken],
        right=["Kept", "Sent", "Owed"],
        whole=["Order", "Wanted by"],
        spare=["Sent", "Kept"],
        empty="none open",
    )
    say_notes(f"{row.order}: {row.note}" for row in taken if row.note)
    _print_direct([row for row in rows if row.outcome == orders.SOLD_DIRECT])
    for code in sorted({code for row in taken if row.owed for code in row.lines}):
        kept, free = bars.get(code, (0, 0))
        say(f"{code}: {kept} ready bars are kept for orders, {free} are free")


def _order_cells(row: OrderRow, everything: bool) -> list[str]:
    return [
        row.order,
        row.customer,
        str(row.wanted_by or ""),
        _wants(row),
        str(sum(row.reserved.values()) or ""),
        str(sum(row.shipped.values()) or ""),
        str(row.owed or ""),
        *([row.outcome] if everything else []),
    ]


def _wants(row: OrderRow) -> str:
    return ", ".join(f"{bars} {code}" for code, bars in row.lines.items())


def _print_direct(rows: list[OrderRow]) -> None:
    """Print what was sold at a market or from the door."""
    if rows:
        table(
            "Sold without an order",
            ["On", "To", "Sold", "Bars"],
            [[row.taken_on.isoformat(), row.customer, _wants(row), str(row.bars)] for row in rows],
            right=["Bars"],
            whole=["On"],
        )


def print_plan(plan: Plan) -> None:
    """Print which bars fill an order, and what lacks."""
    from soapstock.views.orders import parcel_g

    rows = [
        [
            t.lot_code.shown,
            t.recipe_code,
            t.place,
            str(t.bars),
            t.best_before.isoformat() if t.best_before else "",
        ]
        for t in plan.takes
    ]
    table(
        "Take",
        ["Lot", "Recipe", "From", "Bars", "Best before"],
        rows,
        right=["Bars"],
        whole=["Lot"],
        empty="no ready bars",
    )
    for code, bars in plan.lacking.items():
        say(f"Lacking: {several(bars, 'bar')} of {code}.")
    mass = parcel_g(plan.takes)
    if mass is not None and plan.takes:
        say(f"The bars weigh about {mass_words(mass, 0)} today; add the packaging.")


def order_reserve(ctx: typer.Context, refs: Refs, one_lot: OneLot = False) -> None:
    """All of them are kept, or none."""
    from soapstock.enter import orders
    from soapstock.views.orders import left_short

    with desk(ctx) as opened, opened.writing() as (here, _):
        done = [(ref, *orders.reserve(here, ref, one_lot=one_lot)) for ref in dict.fromkeys(refs)]
        short = {ref: left_short(here, ref) for ref, _, _ in done}
    for ref, plan, entry in done:
        print_plan(plan)
        kept = f"Kept for {ref} (entry {entry})." if entry is not None else "Nothing more to keep."
        say(kept)
        if short[ref]:
            say_notes([*short[ref], f"give them free: soapstock order free {ref}"])


def order_free(ctx: typer.Context, ref: Ref) -> None:
    """It stays open; its bars may be promised or sold to others."""
    from soapstock.enter import orders

    with desk(ctx) as opened:
        tell_entered(orders.free(opened, ref))


def order_pack(
    ctx: typer.Context,
    pick: Annotated[Path, typer.Option("--pick", metavar="FILE.pdf", help="The pick list.")],
    refs: Annotated[
        list[str] | None, typer.Argument(metavar="ORDER...", help="Which; all open ones if none.")
    ] = None,
    slip: Annotated[
        Path | None, typer.Option("--slip", metavar="FILE.pdf", help="The packing slips.")
    ] = None,
    packaging: Annotated[str, typer.Option(help="Mass of each packaging, as 120g.")] = "0g",
) -> None:
    """One pick list, place by place, for all of them; a slip for each, in one file."""
    from soapstock.papers import packing

    packaging_g = float(parse_mass_g(packaging, "packaging"))
    if slip is not None and slip.resolve() == pick.resolve():
        raise BadInput(
            f"{slip} is named for both papers", hint="give the slips a name of their own"
        )
    with desk(ctx) as opened, opened.reading() as (here, _):
        orders = packing.packed(here, list(dict.fromkeys(refs or ())))
        packing.write_pick_list(here, orders, pick, packaging_g)
        if slip is not None:
            packing.write_packing_slips(here, orders, slip)
    for order, plan in orders:
        say(f"Order {order.order_ref}, {order.customer}:")
        print_plan(plan)
    say(f"Wrote {pick}" + (f" and {slip}" if slip else "") + f". {NAMES_CUSTOMERS}")


def order_ship(
    ctx: typer.Context,
    refs: Refs,
    short: Annotated[bool, typer.Option("--short", help="Send what is there.")] = False,
    why: Annotated[str, typer.Option(help="Why it goes short.")] = "",
    one_lot: OneLot = False,
    from_place: From = None,
    buyer: Buyer = "",
    price: PriceEach = "",
    discount: Discount = "",
    postage: Postage = "",
    tax: Tax = "",
    on: On = None,
) -> None:
    """It is sold at the price typed, else the order's own, else the price list's.

    All orders named are shipped, or none; what is typed of money holds for each.
    """
    from soapstock.enter import orders
    from soapstock.views.orders import lacking_words

    with desk(ctx) as opened, opened.writing() as (here, _):
        plans = {
            ref: orders.ship(
                here,
                ref,
                short=short,
                why=why,
                one_lot=one_lot,
                from_place=from_place or "",
                terms=terms(buyer, price, discount, postage, tax),
                on=day_or_none(on),
            )
            for ref in dict.fromkeys(refs)
        }
    for ref, plan in plans.items():
        print_plan(plan)
        owed = lacking_words(plan.lacking)
        rest = f" short: {owed} stay owed, and it stays open" if owed else ""
        say(f"Order {ref} is shipped{rest}.")


def order_unship(
    ctx: typer.Context,
    ref: Ref,
    because: Annotated[str, typer.Option("--because", help="What was wrong.")] = "",
    on: On = None,
) -> None:
    """Its bars lie where they lay, and it is open again."""
    from soapstock.enter.undo import unship

    with desk(ctx) as opened:
        say(unship(opened, ref, because, day_or_none(on)).said)


def order_cancel(
    ctx: typer.Context,
    ref: Ref,
    why: Annotated[str, typer.Option(help="Why, kept with the entry.")],
) -> None:
    from soapstock.enter import orders

    with desk(ctx) as opened:
        entry = orders.cancel(opened, ref, why)
    say(f"Order {ref} is cancelled (entry {entry}).")


def promise(
    ctx: typer.Context,
    optimistic: Annotated[
        bool, typer.Option("--expected", help="By the expected ready day, not the late one.")
    ] = False,
    as_json: AsJson = False,
    as_csv: AsCsv = False,
) -> None:
    """No older promise is broken by them."""
    from soapstock.views import orders

    with desk(ctx) as opened, opened.reading() as (here, _):
        rows = orders.promise(here, optimistic=optimistic)
        moulds = orders.in_mould(here)
    if emit(rows, as_json=as_json, as_csv=as_csv):
        return
    names = ["recipe", "from", "supply", "wanted", "kept", "free", "short"]
    table(
        "May be promised",
        [n.capitalize() for n in names],
        [cells(r, names) for r in rows],
        right=["Supply", "Wanted", "Kept", "Free", "Short"],
        whole=["From"],
        empty="nothing is coming and nothing is wanted",
    )
    for code, bars in {r.recipe: r.undecided for r in rows if r.undecided}.items():
        say(f"{code}: {bars} of these bars have had their days but are not released yet")
    for code, pots in moulds.items():
        say(f"{code}: {several(pots, 'pot')} in the mould, not counted until unmoulded")


def take_back(
    ctx: typer.Context,
    lot: Lot,
    bars: Annotated[int, typer.Argument(metavar="BARS", help="How many came back.")],
    customer: Annotated[str, typer.Option("--from", metavar="NAME", help="From whom.")],
    order_ref: Annotated[str, typer.Option("--order", help="Their order.")] = "",
    why: Annotated[str, typer.Option(help="Why they came back.")] = "",
    no_refund: Annotated[
        bool, typer.Option("--no-refund", help="Nothing is paid back for them.")
    ] = False,
    on: On = None,
    as_json: AsJson = False,
) -> None:
    """They are held apart until you decide."""
    from soapstock.enter import orders

    with desk(ctx) as opened:
        done = orders.take_back(
            opened,
            lot,
            bars,
            customer,
            order_ref=order_ref,
            why=why,
            refund=not no_refund,
            on=day_or_none(on),
        )
    if as_json:
        emit_record({"entry": done.entry_id, "lot": done.lot_code, "said": done.said})
        return
    tell_entered(done)
