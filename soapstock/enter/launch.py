"""A launch is entered: the waiting list becomes orders, all of them or none."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from soapstock.desk.desk import Desk
from soapstock.ledger.facts import OrderFacts, OrderLineFacts, Want
from soapstock.views.launch import ShareRow, Way, by_order, shares


def launch(
    desk: Desk, recipes: Sequence[str], way: Way | None, wanted_on: date | None
) -> list[ShareRow]:
    """Make an order for each who gets bars, and leave on the list what they do not get.

    Raises:
        NotFound, RuleBroken: as `shares` says; nothing is then entered.
    """
    with desk.writing() as (here, writer):
        rows = shares(here, recipes, way, wanted_on)
        for ref, mine in by_order(rows).items():
            lines = tuple(OrderLineFacts(recipe_code=row.recipe, bars=row.gets) for row in mine)
            facts = OrderFacts(
                order_ref=ref,
                customer=mine[0].customer,
                contact=next((row.contact for row in mine if row.contact), ""),
                wanted_on=wanted_on,
                lines=lines,
            )
            writer.add_order(here.stamp(), facts)
            for row in mine:
                rest = Want(
                    customer=row.customer,
                    recipe_code=row.recipe,
                    bars=row.still_waits,
                    contact=row.contact,
                )
                writer.want(here.stamp(), rest)
    return rows
