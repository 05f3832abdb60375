"""`move`, `ship`, `give`, `retain`, `waste` and `count`: where bars and lots go."""

from __future__ import annotations

from typing import Annotated

import typer

from soapstock.cli.frame.output import tell_entered
from soapstock.cli.frame.session import From, Lot, Note, On, Why, day_or_none, desk
from soapstock.cli.frame.terms import Buyer, Discount, Postage, PriceEach, Tax, terms

BarCount = Annotated[int, typer.Argument(metavar="BARS", help="How many bars.")]


def move(
    ctx: typer.Context,
    lot: Lot,
    bars: BarCount,
    to: Annotated[str, typer.Option(metavar="PLACE", help="Where they go.")],
    from_place: From = None,
    on: On = None,
    note: Note = "",
) -> None:
    """Returned bars need a note that says why they may go back."""
    from soapstock.enter import move as enter_move

    with desk(ctx) as opened:
        done = enter_move.move(
            opened, lot, bars, to, from_place=from_place, on=day_or_none(on), note=note
        )
        tell_entered(done)


def ship(
    ctx: typer.Context,
    lot: Lot,
    bars: BarCount,
    to: Annotated[str, typer.Option(metavar="CUSTOMER", help="Who receives them.")] = "",
    order: Annotated[str, typer.Option(help="Order reference.")] = "",
    destination: Annotated[str, typer.Option(help="Where they go, such as a state.")] = "",
    from_place: From = None,
    buyer: Buyer = "",
    price: PriceEach = "",
    discount: Discount = "",
    postage: Postage = "",
    tax: Tax = "",
    on: On = None,
    note: Note = "",
) -> None:
    from soapstock.enter import move as enter_move

    with desk(ctx) as opened:
        tell_entered(
            enter_move.ship(
                opened,
                lot,
                bars,
                customer=to,
                order_ref=order,
                destination=destination,
                from_place=from_place,
                terms=terms(buyer, price, discount, postage, tax),
                on=day_or_none(on),
                note=note,
            )
        )


def give(
    ctx: typer.Context,
    lot: Lot,
    bars: BarCount,
    given_for: Annotated[
        str, typer.Option("--for", metavar="WHAT", help="gift, sample, donation or own use.")
    ],
    to: Annotated[str, typer.Option(metavar="NAME", help="Who got them.")] = "",
    from_place: From = None,
    on: On = None,
    note: Note = "",
) -> None:
    """They are neither sold nor waste, and a recall still names who got them."""
    from soapstock.enter import move as enter_move

    with desk(ctx) as opened:
        tell_entered(
            enter_move.give(
                opened,
                lot,
                bars,
                given_for,
                to=to,
                from_place=from_place,
                on=day_or_none(on),
                note=note,
            )
        )


def retain(
    ctx: typer.Context, lot: Lot, bars: BarCount, from_place: From = None, on: On = None
) -> None:
    from soapstock.enter import move as enter_move

    with desk(ctx) as opened:
        tell_entered(
            enter_move.retain(opened, lot, bars, from_place=from_place, on=day_or_none(on))
        )


def waste(
    ctx: typer.Context,
    lot: Lot,
    quantity: Annotated[str, typer.Argument(metavar="QUANTITY", help="Bars, or a mass.")],
    why: Why = "",
    from_place: From = None,
    on: On = None,
) -> None:
    from soapstock.enter import move as enter_move

    with desk(ctx) as opened:
        tell_entered(
            enter_move.waste(opened, lot, quantity, why, from_place=from_place, on=day_or_none(on))
        )


def count(
    ctx: typer.Context,
    lot: Lot,
    place: Annotated[str, typer.Argument(metavar="PLACE", help="Where you counted.")],
    counted: Annotated[str, typer.Argument(metavar="QUANTITY", help="Bars, or a mass.")],
    on: On = None,
    note: Note = "",
) -> None:
    from soapstock.enter import move as enter_move

    with desk(ctx) as opened:
        tell_entered(enter_move.count(opened, lot, place, counted, on=day_or_none(on), note=note))
