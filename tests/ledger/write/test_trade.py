"""Orders, reservations, labels, levels and recalls as facts."""

from datetime import date

import pytest

from soapstock.errors import BadInput, NotFound, RuleBroken
from soapstock.ledger.facts import OrderFacts, OrderLineFacts, PourFacts, Use
from soapstock.ledger.keep.audit import audit


def _order(ref="O-1", bars=4, **more):
    line = OrderLineFacts(recipe_code="DRF", bars=bars)
    return OrderFacts(order_ref=ref, customer="Invented Shop", lines=(line,), **more)


@pytest.fixture
def shop(ledger, maker):
    """Ten released bars on the rack and two orders."""
    with ledger.write() as w:
        maker.released(w)
        w.add_order(maker.stamp(31), _order("O-1", wanted_on=date(2026, 10, 9)))
        w.add_order(maker.stamp(31), _order("O-2", bars=8, wanted_on=date(2026, 10, 5)))
    return ledger


def test_orders_come_by_the_day_they_are_wanted(shop):
    """With their lines."""
    with shop.read() as r:
        assert [(o.order_ref, o.bars) for o in r.orders()] == [("O-2", 8), ("O-1", 4)]


def test_order_reference_is_used_once(shop, maker):
    """Unless the first was undone."""
    with pytest.raises(RuleBroken, match="O-1 is there already"), shop.write() as w:
        w.add_order(maker.stamp(31), _order("O-1"))


def test_reserved_bars_cannot_be_kept_twice(shop, maker):
    """Ten bars: six kept for one order leave four for the other."""
    with shop.write() as w:
        w.reserve(maker.stamp(31), "O-2", [("DRF1", 6)])
    with pytest.raises(RuleBroken, match="has 4 bars that nobody has reserved"):
        with shop.write() as w:
            w.reserve(maker.stamp(31), "O-1", [("DRF1", 5)])
    with shop.read() as r:
        assert r.reserved_by_lot() == {"DRF1": 6}


def test_bars_kept_for_one_order_do_not_ship_to_another(shop, maker):
    """They are promised; but its own shipment takes them."""
    with shop.write() as w:
        w.reserve(maker.stamp(31), "O-2", [("DRF1", 8)])
    with pytest.raises(RuleBroken, match="8 bars of DRF1 are kept for other orders; 2 are free"):
        with shop.write() as w:
            w.ship(maker.stamp(32), "DRF1", 3, "rack", "Invented Shop", "O-1")
    with shop.write() as w:
        w.ship(maker.stamp(32), "DRF1", 8, "rack", "Invented Shop", "O-2")
        w.ship(maker.stamp(32), "DRF1", 2, "rack", "Invented Shop", "O-1")
    with shop.read() as r:
        found = r.order("O-2")
        assert (found.reserved, found.shipped) == ({}, {"DRF1": 8})
        assert audit(r).problems == ()


def test_a_reservation_can_be_given_free(shop, maker):
    """By a negative number, not more than is kept."""
    with shop.write() as w:
        w.reserve(maker.stamp(31), "O-2", [("DRF1", 8)])
        w.reserve(maker.stamp(31), "O-2", [("DRF1", -5)])
    with shop.read() as r:
        assert r.order("O-2").reserved == {"DRF1": 3}
    with pytest.raises(RuleBroken, match="only 3 bars"), shop.write() as w:
        w.reserve(maker.stamp(31), "O-2", [("DRF1", -4)])


def test_closing_short_needs_the_makers_reason(shop, maker):
    """And frees what was kept; a closed order takes nothing more."""
    with shop.write() as w:
        w.reserve(maker.stamp(31), "O-2", [("DRF1", 6)])
    with pytest.raises(BadInput, match="reason is empty"), shop.write() as w:
        w.close_order(maker.stamp(32), "O-2", "short")
    with shop.write() as w:
        w.close_order(maker.stamp(32), "O-2", "short", "two bars chipped")
    with pytest.raises(RuleBroken, match="O-2 is closed: short"), shop.write() as w:
        w.reserve(maker.stamp(32), "O-2", [("DRF1", 1)])
    with shop.read() as r:
        assert r.reserved_by_lot() == {}
        assert [o.order_ref for o in r.orders(open_only=True)] == ["O-1"]


def test_an_order_with_reservations_cannot_be_undone(shop, maker):
    """The reservation is named."""
    with shop.read() as r:
        entry = r.order("O-2").entry_id
    with shop.write() as w:
        kept = w.reserve(maker.stamp(31), "O-2", [("DRF1", 6)])
    with pytest.raises(RuleBroken, match=f"entry {kept} builds on it"), shop.write() as w:
        w.undo(maker.stamp(32), entry, "wrong customer")


def test_unknown_order_is_not_found(shop, maker):
    """With the open ones."""
    with pytest.raises(NotFound, match="no order O-9"), shop.write() as w:
        w.reserve(maker.stamp(31), "O-9", [("DRF1", 1)])
    with pytest.raises(NotFound) as caught, shop.read() as r:
        r.order("O-9")
    assert "O-1" in caught.value.hint


def test_bars_on_hold_cannot_be_reserved(shop, maker):
    """Nothing is promised that may not ship."""
    with shop.write() as w:
        w.decide(maker.stamp(31), "DRF1", "hold", "spots")
    with pytest.raises(RuleBroken, match="on hold"), shop.write() as w:
        w.reserve(maker.stamp(31), "O-1", [("DRF1", 1)])


def test_labels_add_up_over_runs(shop, maker):
    """Printed less spoiled less used is what lies about."""
    with shop.write() as w:
        w.print_labels(maker.stamp(31), "DRF1", 24, face="band")
        w.print_labels(maker.stamp(31), "DRF1", 0, spoiled=3, used=10)
    with shop.read() as r:
        (count,) = r.label_counts()
    assert (count.printed, count.spoiled, count.used, count.left) == (24, 3, 10, 11)


def test_the_newest_reorder_level_stands(shop, maker):
    """And nothing ends it."""
    with shop.write() as w:
        w.set_reorder_level(maker.stamp(31), "lard", 2_000_000)
        w.set_reorder_level(maker.stamp(31), "lard", 3_000_000)
        w.set_reorder_level(maker.stamp(31), "olive", 3_000_000)
        w.set_reorder_level(maker.stamp(31), "olive", 0)
    with shop.read() as r:
        assert r.reorder_levels() == {("lard", "mg"): 3_000_000}


def test_a_practice_recall_is_on_record(shop, maker):
    """With its share and time."""
    with shop.write() as w:
        w.record_recall(maker.stamp(40), "TAL1", True, "{}", 1.5, 98.5)
    with shop.read() as r:
        (entry,) = r.entries("TAL1")[-1:]
    assert entry.summary == "practice recall of TAL1: 98.5 % accounted for"


def test_bars_kept_for_an_order_become_no_samples_and_no_other_soap(shop, maker):
    """Eight of ten are promised: a sample of three or a pot with three would break that."""
    with shop.write() as w:
        w.reserve(maker.stamp(31), "O-2", [("DRF1", 8)])
    bars = Use(lot_code="DRF1", ingredient="soap", role="addition", mass_mg=390_000, bars=3)
    pot = PourFacts(
        lot_code="DRF9", recipe_code="DRF", recipe_version=1, uses=(bars,), batter_mg=390_000
    )
    for act in (
        lambda w: w.retain(maker.stamp(32), "DRF1", 3),
        lambda w: w.pour(maker.stamp(32), pot),
    ):
        with pytest.raises(RuleBroken, match="8 bars of DRF1 are kept for other orders"):
            with shop.write() as w:
                act(w)
    with shop.write() as w:
        w.retain(maker.stamp(32), "DRF1", 2)
