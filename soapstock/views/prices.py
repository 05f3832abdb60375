"""What bars sell for: the price list of a day, and a recipe's price on it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from soapstock.desk.desk import Desk, one_snapshot
from soapstock.desk.finding import find_recipe
from soapstock.errors import NotFound
from soapstock.money.share import amount


@dataclass(frozen=True, slots=True, kw_only=True)
class PriceRow:
    """What a bar of a recipe sells for to a kind of buyer, since a day."""

    recipe: str
    name: str
    buyer: str
    price: Decimal
    currency: str
    since: date


@one_snapshot
def price_list(desk: Desk, buyer: str = "") -> list[PriceRow]:
    """The prices of the desk's day, by recipe and kind of buyer; of one kind when named."""
    with desk.ledger.read() as reader:
        return [
            PriceRow(
                recipe=code,
                name=find_recipe(reader, code)[0].name,
                buyer=kind,
                price=amount(one.price_cents or 0),
                currency=one.currency,
                since=one.on,
            )
            for (code, kind), one in reader.price_list(desk.today).items()
            if buyer in ("", kind)
        ]


def some_prices(desk: Desk, buyer: str) -> list[PriceRow]:
    """The prices for a kind of buyer. Raises NotFound naming the kinds that have some."""
    rows = price_list(desk, buyer)
    if not rows:
        kinds = ", ".join(sorted({row.buyer for row in price_list(desk)})) or "none yet"
        raise NotFound(f"no prices for a {buyer} buyer", hint=f"there are prices for: {kinds}")
    return rows
