"""`sell`: several kinds over the table, and the day's box."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from soapstock.cli.frame.output import emit_record, say, table, tell_entered
from soapstock.cli.frame.session import AsJson, Note, On, day_or_none, desk
from soapstock.cli.frame.terms import Buyer, Discount, PriceEach, Tax, terms
from soapstock.units import several

if TYPE_CHECKING:
    from soapstock.views.box import DayBox
    from soapstock.views.orders import Take


def sell(
    ctx: typer.Context,
    lines: Annotated[
        list[str] | None, typer.Argument(metavar="[RECIPE=BARS...]", help="What is sold: DRF=4.")
    ] = None,
    at: Annotated[str, typer.Option(metavar="NAME", help="The market, or who buys.")] = "",
    destination: Annotated[str, typer.Option(help="Where that is, such as a state.")] = "",
    from_place: Annotated[
        str, typer.Option("--from", metavar="PLACE", help="Only bars that lie there.")
    ] = "",
    buyer: Buyer = "",
    price: PriceEach = "",
    discount: Discount = "",
    tax: Tax = "",
    on: On = None,
    note: Note = "",
    as_json: AsJson = False,
) -> None:
    """Ready lots are taken, first expired first; prices are the list's unless given.

    Then, or with nothing to sell, it totals what the day brought at that place.
    """
    from soapstock.enter.sell import sell as enter_sale
    from soapstock.views.box import day_box

    day = day_or_none(on)
    asked = terms(buyer, price, discount, "", tax)
    takes: list[Take] = []
    with desk(ctx) as opened:
        if lines or not at.strip():  # without either it says what it asks for
            done, takes = enter_sale(
                opened,
                lines or [],
                at,
                destination=destination.strip(),
                from_place=from_place,
                terms=asked,
                on=day,
                note=note,
            )
        box = day_box(opened, at, day)
    if as_json:
        emit_record(box)
        return
    if takes:
        tell_entered(done)
        rows = [[t.recipe_code, str(t.bars), t.lot_code.shown, t.place] for t in takes]
        table("", ["Recipe", "Bars", "Lot", "From"], rows, right=["Bars"], whole=["Lot"])
    _print_box(box)


def market(
    ctx: typer.Context,
    at: Annotated[str, typer.Argument(metavar="NAME", help="The market; it buys the bars.")],
    kinds: Annotated[
        list[str] | None,
        typer.Argument(metavar="[RECIPE=OUT/SOLD...]", help="DRF=12, DRF=12/5 or DRF=/5."),
    ] = None,
    crate: Annotated[
        str, typer.Option(metavar="PLACE", help="Where they stand meanwhile.")
    ] = "market",
    back: Annotated[str, typer.Option(metavar="PLACE", help="Where the rest goes.")] = "shelf",
    destination: Annotated[str, typer.Option(help="Where that is, such as a state.")] = "",
    buyer: Buyer = "",
    price: PriceEach = "",
    discount: Discount = "",
    tax: Tax = "",
    on: On = None,
    note: Note = "",
) -> None:
    """DRF=12 takes 12 out; with no kinds it asks how many of each were sold.

    DRF=12/5 is a whole day: 12 taken, 5 sold, the rest back. DRF=/5 sells 5 of those there.
    """
    from soapstock.cli.rounds.selling import ask_sold
    from soapstock.enter import market as enter_market
    from soapstock.views.box import day_box

    day = day_or_none(on)
    with desk(ctx) as opened:
        asked = enter_market.read_kinds(kinds) if kinds else ask_sold(opened, crate)
        if not asked:
            return
        done = enter_market.market(
            opened,
            at,
            asked,
            crate=crate,
            back_to=back,
            destination=destination.strip(),
            terms=terms(buyer, price, discount, "", tax),
            on=day,
            note=note,
        )
        box = day_box(opened, at, day)
    for line in done:
        say(line)
    if any(kind.sold is not None for kind in asked):
        _print_box(box)


def _print_box(box: DayBox) -> None:
    bars = ", ".join(f"{n} {code}" for code, n in box.bars.items()) or "nothing"
    say(f"{box.at} on {box.on}: {bars}.")
    besides = f", {box.tax} of it tax" if box.tax else ""
    say(f"In the box: {box.total} {box.currency}{besides}.")
    if box.unpriced:
        say(f"{several(box.unpriced, 'bar')} more left without a price.")
