"""Prices, what bars are sold for, and bars given away."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from soapstock.desk.desk import Desk
from soapstock.enter import orders
from soapstock.enter.decide import decide
from soapstock.enter.money import Terms, charge, set_price
from soapstock.enter.move import give, ship
from soapstock.enter.recall import recall
from soapstock.enter.undo import undo
from soapstock.errors import BadInput, NotFound, RuleBroken
from soapstock.ledger.read.money import Traded
from soapstock.views.prices import price_list
from tests.desks import moneyless as desk

__all__ = ["desk"]

READY = "DRF-26241-AZ"
HELD = "EEL26290"


def last(desk: Desk) -> Traded:
    """The newest movement of trade."""
    with desk.ledger.read() as reader:
        return reader.traded(desk.today)[-1]


def test_a_price_holds_from_its_day_on(desk: Desk) -> None:
    """The newest word up to a day stands, whatever order it was entered in."""
    set_price(desk, "DRF", "8.00", on=date(2026, 11, 10))
    set_price(desk, "DRF", "7.50", on=date(2026, 11, 1))
    set_price(desk, "DRF", "4.25", buyer="Wholesale")
    then = replace(desk, today=date(2026, 11, 9))
    assert [str(r.price) for r in price_list(then, "direct")] == ["7.50"]
    assert [(r.buyer, str(r.price)) for r in price_list(desk)] == [
        ("direct", "8.00"),
        ("wholesale", "4.25"),
    ]
    set_price(desk, "DRF", "none")
    assert price_list(desk, "direct") == []


@pytest.mark.parametrize(
    ("price", "buyer"), [("", ""), ("cheap", ""), ("7.555", ""), ("7", "1st"), ("7", "a" * 60)]
)
def test_a_price_that_is_none_is_refused(desk: Desk, price: str, buyer: str) -> None:
    """Nothing is written."""
    with pytest.raises(BadInput):
        set_price(desk, "DRF", price, buyer=buyer)
    assert price_list(desk) == []


def test_bars_ship_at_the_lists_price_of_their_day(desk: Desk) -> None:
    """Three bars at 7.50; with a discount, postage and tax as typed."""
    set_price(desk, "DRF", "7.50", on=date(2026, 11, 1))
    set_price(desk, "DRF", "9.00")
    terms = Terms(discount="1.50", postage="4.00", tax="1.16")
    day = date(2026, 11, 10)
    done = ship(desk, READY, 3, customer="A", from_place="rack", terms=terms, on=day)
    sale = last(desk).sale
    assert sale is not None
    assert (sale.buyer, sale.price_cents, last(desk).goods_cents) == ("direct", 750, 2100)
    assert (sale.discount_cents, sale.postage_cents, sale.tax_cents) == (150, 400, 116)
    assert "for 21.00 USD, 26.16 with postage and tax." in done.said


def test_bars_without_a_price_ship_all_the_same(desk: Desk) -> None:
    """Their income is not known; but an amount on top of no price is refused."""
    ship(desk, READY, 1, customer="A", from_place="rack")
    assert last(desk).sale is None
    with pytest.raises(BadInput, match="had no price for a wholesale buyer"):
        ship(
            desk, READY, 1, customer="A", from_place="rack", terms=Terms(buyer="wholesale", tax="1")
        )


def test_a_price_may_be_given_later_and_mended(desk: Desk) -> None:
    """The newest stands; an undo brings the one before back."""
    sent = ship(desk, READY, 2, customer="A", from_place="rack").entry_id
    charge(desk, sent, Terms(price="7.00"))
    second = charge(desk, sent, Terms(price="7.50")).entry_id
    assert last(desk).goods_cents == 1500
    undo(desk, second, "wrong")
    assert last(desk).goods_cents == 1400
    with pytest.raises(RuleBroken, match="builds on it"):
        undo(desk, sent, "wrong")


def test_what_was_not_sold_is_not_charged(desk: Desk) -> None:
    """A gift has no price."""
    given = give(desk, READY, 1, "gift", from_place="rack").entry_id
    with pytest.raises((BadInput, NotFound)):
        charge(desk, given, Terms(price="7.00"))


def test_an_order_ships_at_its_own_price_then_the_lists(desk: Desk) -> None:
    """The discount is shared over its lots by what they cost, and no cent of it is lost."""
    set_price(desk, "DRF", "7.50")
    set_price(desk, "EBB", "6.00")
    orders.ship(desk, "HS-41", terms=Terms(discount="1.00", postage="5.00"))
    with desk.ledger.read() as reader:
        sent = [t for t in reader.traded(desk.today) if t.order_ref == "HS-41"]
    sales = [t.sale for t in sent]
    assert sum(s.discount_cents for s in sales if s) == 100
    assert sum(s.postage_cents for s in sales if s) == 500
    assert sum(t.goods_cents for t in sent) == 6 * 750 + 4 * 600 - 100


def test_bars_that_come_back_are_paid_back(desk: Desk) -> None:
    """Two of four bars at 7.50 less half of the discount; nothing when the maker says so."""
    terms = Terms(price="7.50", discount="1.00", postage="3.00", tax="0.30")
    ship(desk, READY, 4, customer="A", from_place="rack", terms=terms)
    done = orders.take_back(desk, READY, 2, "A")
    assert last(desk).goods_cents == -1450
    assert "14.50 USD, 14.65 with postage and tax to be paid back" in done.said
    orders.take_back(desk, READY, 1, "A", refund=False)
    assert last(desk).sale is None


def test_gifts_are_neither_sold_nor_waste(desk: Desk) -> None:
    """They stand apart, and a recall names who got them."""
    give(desk, READY, 2, "gift", to="N. Neighbour", from_place="rack")
    give(desk, READY, 1, "own use", from_place="rack")
    with desk.ledger.read() as reader:
        assert reader.batch(READY.replace("-", "")).places["given"] == 3
    told = [(row.customer, row.bars, row.destination) for row in _told(desk)]
    assert ("N. Neighbour", 2, "gift") in told
    assert ("nobody named", 1, "own use") in told


def _told(desk: Desk):  # type: ignore[no-untyped-def]
    return recall(desk, READY, clock=lambda: 0.0).customers


def test_what_is_not_ready_is_given_to_nobody_else(desk: Desk) -> None:
    """Held bars are not given; bars that still cure may be used by the maker alone."""
    for what in ("gift", "sample", "donation", "own use"):
        with pytest.raises(RuleBroken):
            give(desk, HELD, 1, what)
    curing = "DRF-26273-AY"
    with pytest.raises(RuleBroken, match="may not ship"):
        give(desk, curing, 1, "sample")
    assert give(desk, curing, 1, "own use").entry_id


def test_a_gift_must_say_what_for(desk: Desk) -> None:
    """One of the known words."""
    with pytest.raises(BadInput, match="not known"):
        give(desk, READY, 1, "love", from_place="rack")


def test_a_release_with_gifts_after_it_is_not_undone(desk: Desk) -> None:
    """As with shipments."""
    give(desk, READY, 1, "gift", from_place="rack")
    decide(desk, READY, "hold", "a look")
    with desk.ledger.read() as reader:
        released = reader.batch(READY.replace("-", "")).decisions[0].entry_id
    with pytest.raises(RuleBroken, match="cannot be undone"):
        undo(desk, released, "wrong")
