"""What bars earn."""

from __future__ import annotations

from decimal import Decimal

import pytest

from soapstock.desk.desk import Desk
from soapstock.enter import orders
from soapstock.enter.money import Terms, spend
from soapstock.enter.move import ship
from soapstock.errors import BadInput
from soapstock.views.cost import cost_of
from soapstock.views.worth import worth
from tests.desks import moneyless as desk
from tests.views.test_cost import READY, counting

__all__ = ["desk"]


def sell(desk: Desk, bars: int, price: str, buyer: str = "") -> None:
    """Some bars of the batch that is ready."""
    terms = Terms(price=price, buyer=buyer)
    ship(desk, READY, bars, customer="A", from_place="rack", terms=terms)


def test_an_hour_earns_what_is_left_over_the_hours(desk: Desk) -> None:
    """22 bars, 21 to sell, took 210 minutes: ten a bar. Two sold for 16.00 cost 2 bars' cost."""
    spend(desk, READY, "work", "210")
    sell(desk, 2, "8.00")
    (row,) = [r for r in worth(desk, "batch") if r.what == READY]
    cost = Decimal(cost_of(desk, READY).cents) / 100
    assert row.sold == 2
    assert row.unpriced == 7  # what the demo shipped before
    assert abs(row.cost - 2 * cost / 21) <= Decimal("0.01")
    assert row.hour is not None
    assert abs(row.hour - (16 - row.cost) * 3) < Decimal("0.02")


@pytest.mark.parametrize("hour", ["12.00", "30"])
def test_what_an_hour_counts_for_does_not_change_what_it_earns(desk: Desk, hour: str) -> None:
    """Work in the cost of a bar is added back, but for a rounded cent a bar."""
    spend(desk, READY, "work", "210")
    sell(desk, 2, "8.00")
    bare = worth(desk, "recipe")[0].hour
    counted = worth(counting(desk, hour=Decimal(hour)), "recipe")[0].hour
    assert bare is not None
    assert counted is not None
    assert abs(bare - counted) < Decimal("0.07")  # a cent over the third of an hour in two bars


def test_the_price_for_a_wage_earns_that_wage(desk: Desk) -> None:
    """Sold at the price that was named, an hour earns the wage, or a little more for the cent."""
    spend(desk, READY, "work", "210")
    (asked,) = [r.price for r in worth(desk, "batch", wage=Decimal(24)) if r.what == READY]
    assert asked is not None
    sell(desk, 5, str(asked))
    hour = next(r.hour for r in worth(desk, "batch") if r.what == READY)
    assert hour is not None
    assert Decimal(24) - Decimal("0.02") <= hour < Decimal("24.10")


def test_what_a_kilogram_of_the_scarce_fat_earns(desk: Desk) -> None:
    """1275 g of tallow in 22 bars: four sold bars hold 231.8 g."""
    sell(desk, 4, "8.00")
    row = next(r for r in worth(desk, fat="beef-tallow") if r.what == "DRF")
    assert row.a_kg_fat is not None
    assert abs(row.a_kg_fat - row.margin / (4 * Decimal("1.275") / 22)) < Decimal("0.01")


def test_kinds_of_buyer_are_told_apart_and_returns_count_back(desk: Desk) -> None:
    """Two of three wholesale bars came back: one is sold."""
    sell(desk, 1, "8.00")
    sell(desk, 3, "4.00", "wholesale")
    orders.take_back(desk, READY, 2, "A")
    rows = {r.what: r for r in worth(desk, "buyer")}
    assert (rows["wholesale"].sold, rows["wholesale"].income) == (1, Decimal("4.00"))
    assert (rows["direct"].sold, rows["direct"].income) == (1, Decimal("8.00"))
    assert rows["not said"].unpriced == 18


def test_a_cost_nobody_knows_is_named(desk: Desk) -> None:
    """The margin is too high by the tallow."""
    sell(desk, 1, "8.00")
    assert worth(desk)[0].unknown == ("beef-tallow BEE-26230-AC",)


def test_worth_by_something_else_is_refused(desk: Desk) -> None:
    """It names what there is."""
    with pytest.raises(BadInput, match="moon"):
        worth(desk, "moon")
