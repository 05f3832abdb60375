"""The options that say what bars are sold for."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from soapstock.enter.money import Terms

Buyer = Annotated[
    str, typer.Option("--buyer", metavar="KIND", help="Kind of buyer, as wholesale; else direct.")
]
PriceEach = Annotated[
    str, typer.Option("--price", metavar="AMOUNT", help="A bar's price; else the list's.")
]
Discount = Annotated[str, typer.Option(metavar="AMOUNT", help="Taken off the whole parcel.")]
Postage = Annotated[str, typer.Option(metavar="AMOUNT", help="Charged for sending it.")]
Tax = Annotated[str, typer.Option(metavar="AMOUNT", help="Sales tax on top, as you reckon it.")]


def terms(buyer: str, price: str, discount: str, postage: str, tax: str) -> Terms:
    """What was typed."""
    from soapstock.enter.money import Terms

    return Terms(buyer=buyer, price=price, discount=discount, postage=postage, tax=tax)
