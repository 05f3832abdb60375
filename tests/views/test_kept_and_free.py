"""Bars kept for orders and free bars stand beside each other; what is sold direct is listed."""

from __future__ import annotations

from datetime import date

import pytest

from soapstock.desk.desk import Desk
from soapstock.enter import batch
from soapstock.enter.decide import decide
from soapstock.enter.move import ship
from soapstock.enter.orders import add, free, reserve
from soapstock.errors import RuleBroken
from soapstock.views import lists, orders
from soapstock.views.stock import stock

EEL = "EEL-26255-A6"  # 22 ready bars; order HS-43 asks for 12


def test_ready_and_stock_tell_kept_from_free(desk: Desk) -> None:
    """Twelve of 22 bars kept leave ten; the stock says it of the whole lot."""
    reserve(desk, "HS-43")
    line = next(x for x in lists.ready(desk) if x.item.facts.lot_code.shown == EEL)
    assert (line.item.bars, line.kept, line.free) == (22, 12, 10)
    rows = [row for row in stock(desk) if row.lot.shown == EEL]
    assert {(row.lot_kept, row.lot_free) for row in rows} == {(12, 10)}
    ingredient = next(row for row in stock(desk) if row.unit == "g")
    assert ingredient.lot_kept is ingredient.lot_free is None


def test_promise_and_the_order_list_tell_kept_from_free(desk: Desk) -> None:
    """What is kept stands in what is wanted; the rest of the ready bars is kept for none."""
    reserve(desk, "HS-43")
    rows = [row for row in orders.promise(desk) if row.recipe == "EEL"]
    assert {row.kept for row in rows} == {12}
    assert orders.kept_and_free(desk)["EEL"] == (12, 10)


def test_bars_on_hold_are_never_free(desk: Desk) -> None:
    """A batch on hold has nothing to promise, however many bars lie there."""
    decide(desk, EEL, "hold", "a doubt")
    assert {row.lot_free for row in stock(desk) if row.lot.shown == EEL} == {0}
    assert orders.kept_and_free(desk).get("EEL") is None


def test_sales_without_an_order_are_in_the_list_of_all(desk: Desk) -> None:
    """Bars sold from the door are one row for each buyer and day; open orders leave it out."""
    ship(desk, EEL, 2, customer="From the door")
    ship(desk, EEL, 1, customer="From the door")
    rows = [row for row in orders.listed(desk, everything=True) if row.customer == "From the door"]
    assert [(row.order, row.outcome, row.lines, row.owed) for row in rows] == [
        ("", orders.SOLD_DIRECT, {"EEL": 3}, 0)
    ]
    assert all(row.order for row in orders.listed(desk, everything=False))


def test_what_is_owed_is_what_was_ordered_less_what_was_sent(desk: Desk) -> None:
    """Nothing sent yet: all twelve bars are owed."""
    row = next(row for row in orders.listed(desk, everything=False) if row.order == "HS-43")
    assert row.owed == row.bars == 12


def test_bars_kept_are_given_free_again(desk: Desk) -> None:
    """The order stays open, and a second time there is nothing to give."""
    reserve(desk, "HS-43")
    assert "12 bars" in free(desk, "HS-43").said
    assert orders.kept_and_free(desk)["EEL"] == (0, 22)
    assert next(r for r in orders.listed(desk, everything=False) if r.order == "HS-43").owed == 12
    with pytest.raises(RuleBroken, match="nothing is kept"):
        free(desk, "HS-43")


def test_keeping_bars_that_sooner_orders_need_is_said(desk: Desk) -> None:
    """HS-43 is due in December; of 22 bars, 10 are left for the 12 of an order to be sent now."""
    add(desk, "W-1", "A. Marsh (invented)", ["EEL=12"])
    reserve(desk, "HS-43")
    assert orders.left_short(desk, "HS-43") == ["10 bars of EEL left for 12 that go before: W-1"]
    assert orders.left_short(desk, "W-1") == [], "nothing goes before it"


def test_what_is_wanted_later_does_not_go_before(desk: Desk) -> None:
    """An order for the new year waits its turn."""
    add(desk, "W-2", "A. Marsh (invented)", ["EEL=12"], wanted_on=date(2027, 1, 8))
    reserve(desk, "HS-43")
    assert orders.left_short(desk, "HS-43") == []


def test_pots_in_the_mould_are_told_beside_the_promise(desk: Desk) -> None:
    """Nobody has counted their bars, so they are not promised; but they are not forgotten."""
    assert orders.in_mould(desk) == {"SAM": 1}
    batch.unmould(desk, "SAM-26323", 20, "2500g")
    assert orders.in_mould(desk) == {}
