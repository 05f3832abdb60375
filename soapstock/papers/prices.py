"""Price lists on paper: a sheet for those who buy to sell, cards for the shelf."""

from __future__ import annotations

from pathlib import Path

from soapstock.desk.desk import Desk
from soapstock.views.prices import PriceRow, some_prices


def write_price_sheet(desk: Desk, path: Path, buyer: str) -> int:
    """The prices for a kind of buyer as a PDF; returns how many there are."""
    from soapstock.render.paper.plain import Column, Paper, Section, write_paper

    rows = some_prices(desk, buyer)
    columns = (
        Column(head="Soap", share=3),
        Column(head="Code"),
        Column(head="Since", share=1.2),
        Column(head="A bar", right=True),
    )
    paper = Paper(
        title="Prices" if buyer == "direct" else f"{buyer.capitalize()} prices",
        subtitle=f"as of {desk.today.isoformat()}, in {rows[0].currency}, before tax",
        shop_name=desk.shop.maker,
        paper=desk.shop.paper,
        foot=", ".join(filter(None, (*desk.shop.address, desk.shop.contact))),
        sections=(Section(columns=columns, rows=tuple(map(_cells, rows))),),
    )
    write_paper(path, paper)
    return len(rows)


def write_price_cards(desk: Desk, path: Path, buyer: str) -> int:
    """A card for each price for a kind of buyer, to cut and stand on the shelf; how many."""
    from soapstock.render.paper.price_card import PriceCard, write_price_cards

    cards = [
        PriceCard(
            name=row.name,
            price=f"{row.price} {row.currency}",
            of="a bar, before tax",
            shop_name=desk.shop.maker,
        )
        for row in some_prices(desk, buyer)
    ]
    write_price_cards(path, cards, paper=desk.shop.paper)
    return len(cards)


def _cells(row: PriceRow) -> tuple[str, ...]:
    return (row.name, row.recipe, row.since.isoformat(), str(row.price))
