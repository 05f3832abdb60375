"""`price ...` and `charge`: what bars sell for."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from soapstock.cli.frame.output import emit, say, table, tell_entered
from soapstock.cli.frame.session import AsCsv, AsJson, On, day_or_none, desk, offer_recipes
from soapstock.cli.frame.terms import Buyer, Discount, Postage, PriceEach, Tax, terms
from soapstock.units import several


def price_set(
    ctx: typer.Context,
    recipe: Annotated[
        str, typer.Argument(metavar="RECIPE", help="Recipe code.", autocompletion=offer_recipes)
    ],
    price: Annotated[
        str, typer.Argument(metavar="AMOUNT", help="A bar's price before tax, or none.")
    ],
    buyer: Buyer = "",
    on: On = None,
) -> None:
    """It holds from that day on; what was sold before keeps its price."""
    from soapstock.enter.money import set_price

    with desk(ctx) as opened:
        tell_entered(set_price(opened, recipe, price, buyer=buyer, on=day_or_none(on)))


def price_list(
    ctx: typer.Context, buyer: Buyer = "", as_json: AsJson = False, as_csv: AsCsv = False
) -> None:
    from soapstock.views.prices import price_list as listed

    with desk(ctx) as opened:
        rows = listed(opened, buyer)
    if emit(rows, as_json=as_json, as_csv=as_csv):
        return
    names = ["recipe", "name", "buyer", "price", "since"]
    table(
        "Prices of a bar, before tax",
        [name.capitalize() for name in names],
        [[r.recipe, r.name, r.buyer, str(r.price), str(r.since)] for r in rows],
        right=["Price"],
        whole=["Since"],
        empty="none set",
    )


def price_sheet(
    ctx: typer.Context,
    out: Annotated[Path, typer.Argument(metavar="FILE.pdf", help="Where to write it.")],
    buyer: Annotated[
        str, typer.Option("--buyer", metavar="KIND", help="For whom; else wholesale.")
    ] = "",
    cards: Annotated[
        bool, typer.Option("--cards", help="As cards to cut and stand on the shelf; for direct.")
    ] = False,
) -> None:
    from soapstock.papers.prices import write_price_cards, write_price_sheet

    with desk(ctx) as opened:
        if cards:
            number = write_price_cards(opened, out, buyer or "direct")
        else:
            number = write_price_sheet(opened, out, buyer or "wholesale")
    say(f"Wrote {out}: {several(number, 'card' if cards else 'price')}.")


def charge(
    ctx: typer.Context,
    entry: Annotated[int, typer.Argument(metavar="ENTRY", help="The entry that shipped them.")],
    buyer: Buyer = "",
    price: PriceEach = "",
    discount: Discount = "",
    postage: Postage = "",
    tax: Tax = "",
    on: On = None,
) -> None:
    """For bars that left without a price, or with a wrong one; not once they are on an invoice."""
    from soapstock.enter.money import charge as enter_charge

    asked = terms(buyer, price, discount, postage, tax)
    with desk(ctx) as opened:
        tell_entered(enter_charge(opened, entry, asked, on=day_or_none(on)))
