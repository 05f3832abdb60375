"""Several kinds sold over the table in one go, and the day's box."""

from __future__ import annotations

from decimal import Decimal

import pytest

from soapstock.desk.desk import Desk
from soapstock.enter import orders
from soapstock.enter.money import Terms, set_price
from soapstock.enter.move import move, ship
from soapstock.enter.sell import sell
from soapstock.errors import BadInput, NotFound, RuleBroken
from soapstock.views.box import day_box
from tests.desks import moneyless as desk
from tests.enter.test_money import READY

__all__ = ["desk"]

MARKET = "Quay market"


@pytest.fixture
def priced(desk: Desk) -> Desk:
    """The demo with a price for three kinds."""
    for code, price in (("DRF", "7.50"), ("EBB", "6.00"), ("SAM", "6.50")):
        set_price(desk, code, price)
    return desk


def entries(desk: Desk) -> int:
    """How many entries there are."""
    with desk.ledger.read() as reader:
        return reader.head()[0]


def test_the_days_box_is_the_sum_of_what_was_sold_there(priced: Desk) -> None:
    """3 at 7.50, 2 at 6.00, 1.00 off and 1.68 tax; then 1 at 6.50: 41.68 in the box, by hand."""
    done, takes = sell(priced, ["DRF=3", "EBB=2"], MARKET, terms=Terms(discount="1", tax="1.68"))
    assert done.said == ("Sold 5 bars at Quay market for 33.50 USD, 35.18 with postage and tax.")
    assert sum(take.bars for take in takes) == 5
    sell(priced, ["SAM=1"], MARKET)
    ship(priced, READY, 1, customer="Somebody else", from_place="rack")
    box = day_box(priced, MARKET)
    assert box.bars == {"DRF": 3, "EBB": 2, "SAM": 1}
    assert (box.goods, box.tax) == (Decimal("40.00"), Decimal("1.68"))
    assert box.total == Decimal("41.68")


def test_what_came_back_is_out_of_the_box(priced: Desk) -> None:
    """One of three, paid back."""
    sell(priced, ["DRF=3"], MARKET)
    orders.take_back(priced, READY, 1, MARKET)
    box = day_box(priced, MARKET)
    assert (box.bars, box.total) == ({"DRF": 2}, Decimal("15.00"))


def test_all_of_it_is_sold_or_nothing(priced: Desk) -> None:
    """Ten Ebb are ready and four of them can be kept; the Driftwood before it is not sold."""
    before = entries(priced)
    with pytest.raises(RuleBroken, match="1 of EBB lack"):
        sell(priced, ["DRF=1", "EBB=11"], MARKET)
    with pytest.raises(NotFound):
        sell(priced, ["DRF=1", "XYZ=1"], MARKET)
    for wrong in ("DRF", "DRF=0", "DRF=x"):
        with pytest.raises(BadInput):
            sell(priced, ["EBB=1", wrong], MARKET)
    with pytest.raises(BadInput, match="to whom"):
        sell(priced, ["DRF=1"], " ")
    assert entries(priced) == before


def test_bars_kept_for_orders_are_not_sold(priced: Desk) -> None:
    """HS-41 keeps 6 of the 14 Driftwood and 4 of the 10 Ebb."""
    orders.reserve(priced, "HS-41")
    with pytest.raises(RuleBroken, match="1 of EBB lack"):
        sell(priced, ["EBB=7"], MARKET)
    sell(priced, ["EBB=6"], MARKET)


def test_bars_may_come_from_one_place_alone(priced: Desk) -> None:
    """Three Driftwood lie on the shelf and eleven on the rack."""
    with pytest.raises(RuleBroken, match="1 of DRF lack on shelf"):
        sell(priced, ["DRF=4"], MARKET, from_place="shelf")
    move(priced, READY, 1, "shelf", from_place="rack")
    _, takes = sell(priced, ["DRF=4"], MARKET, from_place="shelf")
    assert {(take.place, take.bars) for take in takes} == {("shelf", 4)}


def test_bars_without_a_price_are_told_apart(desk: Desk) -> None:
    """They are sold all the same, and the box does not know what they brought."""
    sell(desk, ["DRF=2"], MARKET)
    box = day_box(desk, MARKET)
    assert (box.unpriced, box.total) == (2, Decimal(0))
