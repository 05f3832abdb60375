"""A market day, from the shelf to the crate and back."""

from __future__ import annotations

from datetime import date

import pytest

from soapstock.desk.desk import Desk
from soapstock.desk.finding import read_lot
from soapstock.enter.market import Kind, read_kinds
from soapstock.enter.market import market as enter_market
from soapstock.enter.money import Terms
from soapstock.enter.move import ship
from soapstock.enter.orders import reserve
from soapstock.errors import BadInput, RuleBroken
from soapstock.upkeep import ledger
from soapstock.views.batch import view
from soapstock.views.box import day_box
from soapstock.views.orders import ready_at
from tests.desks import moneyless as desk

__all__ = ["desk"]

QUAY = "Quay market (invented)"
DRF, EEL = "DRF-26241-AZ", "EEL-26255-A6"  # 14 and 22 ready bars


def market(desk: Desk, *typed: str, price: str = "", tax: str = "") -> str:
    """Enter a market; what the box then holds."""
    terms = Terms(price=price, tax=tax)
    enter_market(desk, QUAY, read_kinds(typed), crate="market", back_to="shelf", terms=terms)
    box = day_box(desk, QUAY)
    return f"{sum(box.bars.values())} bars, {box.total}, {box.unpriced} without a price"


def places(desk: Desk, lot: str) -> dict[str, int]:
    """Where the bars of a lot that could be sold are."""
    return view(desk, read_lot(desk, lot)).facts.for_sale()


def test_kinds_are_read_as_typed() -> None:
    """Taken out; taken out and sold; sold of what is there."""
    assert read_kinds(["drf=12", "EBB=6/0", "EEL=/5"]) == [
        Kind(recipe="DRF", out=12),
        Kind(recipe="EBB", out=6, sold=0),
        Kind(recipe="EEL", sold=5),
    ]


@pytest.mark.parametrize("typed", ["DRF", "DRF=", "DRF=/", "DRF=x", "DRF=1/2/3", "DRF=-1", "=3"])
def test_what_is_no_kind_is_refused(typed: str) -> None:
    """One clear line."""
    with pytest.raises(BadInput, match="no kind of bar"):
        read_kinds([typed])


def test_a_kind_twice_is_refused() -> None:
    """Five and six may be eleven, or a slip."""
    with pytest.raises(BadInput, match="twice"):
        read_kinds(["DRF=5", "DRF=6"])


def test_a_whole_day_in_one_entry(desk: Desk) -> None:
    """Twelve go out, five are sold, seven come back; the book balances."""
    before = places(desk, DRF)
    told = market(desk, "DRF=12/5", "EEL=6/6", price="7.50")
    assert told == "11 bars, 82.50, 0 without a price"
    after = places(desk, DRF)
    assert after.get("market", 0) == 0
    assert sum(after.values()) == sum(before.values()) - 5
    assert after["shelf"] == before["shelf"] - 3 + 7  # those on the shelf went out first
    assert ledger.audit(desk).problems == ()


def test_morning_and_evening(desk: Desk) -> None:
    """The crate holds the bars meanwhile; the evening sells from it and empties it."""
    assert market(desk, "DRF=12", "EEL=6").startswith("0 bars")
    there = ready_at(desk, "market")
    assert {code: bars for code, (_, bars) in there.items()} == {"DRF": 12, "EEL": 6}
    market(desk, "DRF=/5", "EEL=/0", price="7")
    assert ready_at(desk, "market") == {}


def test_the_box_counts_all_of_the_day(desk: Desk) -> None:
    """Also what was entered bar by bar at the stall; not what others bought, nor another day's."""
    ship(desk, EEL, 2, customer=QUAY, terms=Terms(price="8"))
    ship(desk, EEL, 1, customer=QUAY, terms=Terms(price="8"), on=date(2026, 11, 19))
    ship(desk, EEL, 3, customer="Somebody", terms=Terms(price="8"))
    # 2 at 8, 4 at 7, and 2 of tax
    assert market(desk, "DRF=4/4", price="7", tax="2.00") == "6 bars, 46.00, 0 without a price"
    assert market(desk, "DRF=1/1") == "7 bars, 46.00, 1 without a price"


def test_more_than_there_is_writes_nothing(desk: Desk) -> None:
    """Neither out nor sold."""
    before = ledger.audit(desk).entries
    with pytest.raises(RuleBroken, match="lack 1 of DRF"):
        market(desk, "EEL=2", "DRF=15")
    with pytest.raises(RuleBroken, match="1 of DRF lack"):
        market(desk, "EEL=2/2", "DRF=3/4")
    assert ledger.audit(desk).entries == before


def test_bars_kept_for_an_order_stay_at_home(desk: Desk) -> None:
    """Twelve of 22 are kept: ten may go."""
    reserve(desk, "HS-43")
    with pytest.raises(RuleBroken, match="lack 1 of EEL"):
        market(desk, "EEL=11")
    assert market(desk, "EEL=10/10", price="1").startswith("10 bars")
