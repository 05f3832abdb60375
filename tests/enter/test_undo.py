"""The last entry, and an order's shipping, undone as one."""

from dataclasses import replace

import pytest

from soapstock.enter import orders as enter_orders
from soapstock.enter.stock import add_place, set_level
from soapstock.enter.undo import undo, undo_last, unship
from soapstock.errors import BadInput, NotFound, RuleBroken
from soapstock.upkeep.ledger import audit
from soapstock.views import orders as orders_views
from soapstock.views.stock import stock


def test_the_last_entry_of_a_person_is_undone_and_named(desk):
    """Another's later entry is left alone; asked again, the one before goes."""
    first = set_level(desk, "olive", "1kg").entry_id
    second = set_level(desk, "olive", "2kg").entry_id
    set_level(replace(desk, by="another"), "olive", "3kg")
    assert f"(entry {second})" in undo_last(desk, "slip").said
    assert f"(entry {first})" in undo_last(desk, "slip").said


def test_nobody_undoes_what_he_did_not_enter(desk):
    """One who entered nothing has nothing to take back."""
    with pytest.raises(NotFound, match="no entry of nobody-here"):
        undo_last(replace(desk, by="nobody-here"), "slip")


def test_the_last_entry_that_must_stay_is_not_skipped(desk):
    """A place stays; the entry before it is not undone in its stead."""
    set_level(desk, "olive", "1kg")
    add_place(desk, "rack-9", "rack", 60)
    with pytest.raises(RuleBroken, match="stays"):
        undo_last(desk, "slip")


def test_an_order_of_several_lots_is_unshipped_as_one(desk):
    """Bars, order and promise stand as before it was sent, and it can be sent again."""
    enter_orders.add(desk, "W-1", "A", ["DRF=2", "EBB=3"])
    before, promised = stock(desk), orders_views.promise(desk)
    enter_orders.ship(desk, "W-1")
    assert stock(desk) != before
    assert unship(desk, "W-1", "wrong box").said == "5 bars of order W-1 are back; it is open."
    assert (stock(desk), orders_views.promise(desk)) == (before, promised)
    assert not orders_views.one(desk, "W-1").outcome
    assert not audit(desk).problems
    enter_orders.ship(desk, "W-1")
    assert sum(orders_views.one(desk, "W-1").shipped.values()) == 5


def test_a_half_undone_order_is_unshipped_too(desk):
    """One line undone by hand before leaves the rest and the closing to undo."""
    enter_orders.add(desk, "W-1", "A", ["DRF=2", "EBB=3"])
    before = stock(desk)
    enter_orders.ship(desk, "W-1")
    with desk.ledger.read() as reader:
        sent = reader.sending_entries(reader.order("W-1").entry_id, "W-1")
    undo(desk, sent[0], "wrong lot")
    unship(desk, "W-1", "wrong box")
    assert stock(desk) == before


def test_an_order_of_which_a_bar_came_back_is_not_unshipped(desk):
    """And nothing of it is: all or nothing."""
    enter_orders.add(desk, "W-1", "A", ["DRF=2", "EBB=3"])
    enter_orders.ship(desk, "W-1")
    lot = next(iter(orders_views.one(desk, "W-1").shipped))
    enter_orders.take_back(desk, lot, 1, "A", order_ref="W-1", why="scent")
    before = stock(desk)
    with pytest.raises(RuleBroken):
        unship(desk, "W-1", "wrong box")
    assert stock(desk) == before


def test_an_order_that_was_not_sent_is_not_unshipped(desk):
    """A cancelled order stays cancelled."""
    enter_orders.add(desk, "W-1", "A", ["DRF=2"])
    enter_orders.cancel(desk, "W-1", "changed their mind")
    with pytest.raises(RuleBroken, match="nothing of order W-1 was sent"):
        unship(desk, "W-1", "wrong box")
    with pytest.raises(BadInput, match="reason"):
        unship(desk, "W-1", " ")
