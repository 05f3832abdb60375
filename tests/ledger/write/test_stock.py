"""Where stock goes, what the rules refuse, and undo."""

from collections import Counter

import pytest

from soapstock.errors import BadInput, NotFound, RuleBroken
from soapstock.ledger.keep.audit import check_balance


def test_unreleased_bars_cannot_ship(ledger, maker):
    """No bar leaves without a named person's release."""
    with ledger.write() as w:
        maker.bars(w)
    with pytest.raises(RuleBroken, match="not released; it cannot ship"), ledger.write() as w:
        w.ship(maker.stamp(40), "DRF1", 1, "rack", "Invented Shop")


def test_bars_put_on_hold_again_cannot_ship(ledger, maker):
    """The newest decision stands."""
    with ledger.write() as w:
        maker.released(w)
        w.decide(maker.stamp(31), "DRF1", "hold", "a spot of rancidity")
    with pytest.raises(RuleBroken, match="is on hold"), ledger.write() as w:
        w.ship(maker.stamp(40), "DRF1", 1, "rack", "Invented Shop")


def test_shipping_before_the_release_date_is_refused(ledger, maker):
    """Nor can it be dated back before the decision."""
    with ledger.write() as w:
        maker.released(w)
    with pytest.raises(RuleBroken, match="cannot have shipped"), ledger.write() as w:
        w.ship(maker.stamp(29), "DRF1", 1, "rack", "Invented Shop")


def test_more_than_is_there_cannot_ship(ledger, maker):
    """The refusal says what is there."""
    with ledger.write() as w:
        maker.released(w)
    with pytest.raises(RuleBroken, match="has 10 bars at rack; cannot take 11"):
        with ledger.write() as w:
            w.ship(maker.stamp(40), "DRF1", 11, "rack", "Invented Shop")


def test_shipment_is_on_record_with_its_customer(ledger, maker):
    """A recall can ask who got what."""
    with ledger.write() as w:
        maker.released(w)
        w.ship(maker.stamp(40), "DRF1", 4, "rack", "Invented Shop", "O-1", "Quay 3")
    with ledger.read() as r:
        (sent,) = r.shipments()
        assert r.batch("DRF1").places["customer"] == 4
    assert (sent.bars, sent.customer, sent.order_ref, sent.destination, sent.lot_code) == (
        4,
        "Invented Shop",
        "O-1",
        "Quay 3",
        "DRF1",
    )


def test_returned_bars_are_held_apart(ledger, maker):
    """They lie at `returned` and cannot ship from there."""
    with ledger.write() as w:
        maker.released(w)
        w.ship(maker.stamp(40), "DRF1", 4, "rack", "Invented Shop")
        w.take_back(maker.stamp(50), "DRF1", 3, "Invented Shop", reason="box got wet")
    with ledger.read() as r:
        assert r.batch("DRF1").places["returned"] == 3
    with pytest.raises(RuleBroken, match="not for sale"), ledger.write() as w:
        w.ship(maker.stamp(51), "DRF1", 1, "returned", "Invented Shop")
    with pytest.raises(RuleBroken, match="held apart"), ledger.write() as w:
        w.move(maker.stamp(51), "DRF1", 1, "bars", "returned", "shelf")


def test_nobody_returns_more_than_they_got(ledger, maker):
    """A return is checked against that customer's shipments."""
    with ledger.write() as w:
        maker.released(w)
        w.ship(maker.stamp(40), "DRF1", 2, "rack", "Invented Shop")
    with pytest.raises(RuleBroken, match="Other Shop has 0 bars"), ledger.write() as w:
        w.take_back(maker.stamp(50), "DRF1", 1, "Other Shop")


def test_a_shipment_that_came_back_is_not_undone(ledger, maker):
    """Shop A returned its bars: to undo its shipment would give it less than nothing of them."""
    with ledger.write() as w:
        maker.released(w)
        to_a = w.ship(maker.stamp(40), "DRF1", 3, "rack", "Shop A")
        w.ship(maker.stamp(40), "DRF1", 3, "rack", "Shop B")
        back = w.take_back(maker.stamp(45), "DRF1", 3, "Shop A")
    with pytest.raises(RuleBroken, match=f"entry {back} builds on it"), ledger.write() as w:
        w.undo(maker.stamp(46), to_a, "wrong shop")
    with ledger.write() as w:
        w.undo(maker.stamp(46), back, "not returned after all")
        w.undo(maker.stamp(46), to_a, "wrong shop")
    with ledger.read() as r:
        assert r.batch("DRF1").places == {"customer": 3, "rack": 7, "waste": 1}


def test_an_undo_is_not_dated_before_what_it_undoes(ledger, maker):
    """What was not entered yet could not be found wrong."""
    with ledger.write() as w:
        maker.released(w)
        sent = w.ship(maker.stamp(40), "DRF1", 3, "rack", "Shop A")
    with pytest.raises(RuleBroken, match="cannot have been undone"), ledger.write() as w:
        w.undo(maker.stamp(39), sent, "wrong shop")


@pytest.mark.parametrize("target", ["customer", "waste", "pot", "mould", "count-difference"])
def test_move_is_only_between_places_that_hold_stock(ledger, maker, target):
    """Each way out has its own command, with its own questions."""
    with ledger.write() as w:
        maker.released(w)
    with pytest.raises(RuleBroken, match="a move cannot use"), ledger.write() as w:
        w.move(maker.stamp(40), "DRF1", 1, "bars", "rack", target)


def test_unknown_place_names_the_places_there_are(ledger, maker):
    """A misspelt rack is met with a list."""
    with ledger.write() as w:
        maker.bars(w)
    with pytest.raises(NotFound, match="no place 'rak'") as caught, ledger.write() as w:
        w.move(maker.stamp(40), "DRF1", 1, "bars", "rak", "shelf")
    assert "rack" in caught.value.hint


def test_a_full_rack_takes_no_more(ledger, maker):
    """A place with a capacity keeps to it."""
    with ledger.write() as w:
        maker.bars(w)
        w.add_place(maker.stamp(), "rack-2", "rack", capacity_bars=6)
        w.move(maker.stamp(3), "DRF1", 5, "bars", "rack", "rack-2")
    with pytest.raises(RuleBroken, match="holds 6 bars and has 5; 2 more"), ledger.write() as w:
        w.move(maker.stamp(3), "DRF1", 2, "bars", "rack", "rack-2")


@pytest.mark.parametrize(("counted", "lost"), [(7, 3), (10, 0)])
def test_count_posts_the_difference(ledger, maker, counted, lost):
    """After a count the ledger holds what was counted, and still balances."""
    with ledger.write() as w:
        maker.bars(w)
        w.count(maker.stamp(5, note="found behind the crates"), "DRF1", "rack", counted)
    with ledger.read() as r:
        assert r.batch("DRF1").places["rack"] == counted
        assert check_balance(r.db) == []
        assert f"counted {counted} bars" in r.entries()[-1].summary


def test_a_count_finds_what_an_earlier_one_missed(ledger, maker):
    """More than booked, but no more than the lot ever had."""
    with ledger.write() as w:
        maker.bars(w)
        w.count(maker.stamp(5), "DRF1", "rack", 7)
        w.count(maker.stamp(6, note="found behind the crates"), "DRF1", "rack", 9)
    with ledger.read() as r:
        assert r.batch("DRF1").places["rack"] == 9
        assert check_balance(r.db) == []


def test_nothing_is_moved_to_where_it_is(ledger, maker):
    """Not even bars that are not there."""
    with ledger.write() as w:
        maker.bars(w)
    with pytest.raises(RuleBroken, match="is at rack already"), ledger.write() as w:
        w.move(maker.stamp(3), "DRF1", 1, "bars", "rack", "rack")
    with pytest.raises(RuleBroken, match="is at retained already"), ledger.write() as w:
        w.retain(maker.stamp(3), "DRF1", 4, "retained")


def test_waste_needs_a_reason(ledger, maker):
    """Nothing vanishes without a word."""
    with ledger.write() as w:
        maker.bars(w)
    with pytest.raises(BadInput, match="the reason is empty"), ledger.write() as w:
        w.waste(maker.stamp(5), "DRF1", 1, "rack", "")


def test_undo_restores_the_stock_and_hides_the_fact(ledger, maker):
    """A reversed weigh-in and move are gone from the batch but stay in history."""
    with ledger.write() as w:
        maker.bars(w)
        weighed = w.weigh(maker.stamp(9), "DRF1", 10, 1_000_000)
        moved = w.move(maker.stamp(9), "DRF1", 4, "bars", "rack", "shelf")
        w.undo(maker.stamp(9), weighed, "wrong scale")
        undone = w.undo(maker.stamp(9), moved, "wrong lot")
    with ledger.read() as r:
        batch = r.batch("DRF1")
        assert r.entry(moved).undone_by == undone
        assert r.entry(undone).note == "wrong lot"
        assert check_balance(r.db) == []
    assert batch.weigh_ins == ()
    assert batch.places == {"rack": 10, "waste": 1}


@pytest.mark.parametrize("which", ["receive", "pour", "unmould"])
def test_undo_of_what_others_build_on_names_the_newest(ledger, maker, which):
    """The refusal says which entry to undo first."""
    with ledger.write() as w:
        maker.bars(w)
        weighed = w.weigh(maker.stamp(9), "DRF1", 10, 1_000_000)
    with ledger.read() as r:
        ids = {e.kind: e.id for e in r.entries()}
    expected = ids["pour"] if which == "receive" else weighed
    with pytest.raises(RuleBroken, match=f"entry {expected} builds on it"), ledger.write() as w:
        w.undo(maker.stamp(9), ids[which], "no")


def test_undo_of_a_move_whose_bars_went_on_names_the_taker(ledger, maker):
    """Bars that were shipped from the shelf cannot go back to the rack."""
    with ledger.write() as w:
        maker.released(w)
        moved = w.move(maker.stamp(30), "DRF1", 4, "bars", "rack", "shelf")
        shipped = w.ship(maker.stamp(31), "DRF1", 4, "shelf", "Invented Shop")
    with pytest.raises(RuleBroken, match=f"entry {shipped} builds on it"), ledger.write() as w:
        w.undo(maker.stamp(32), moved, "no")


def test_undo_of_a_release_under_which_bars_shipped_is_refused(ledger, maker):
    """The shipment would have been of unreleased bars."""
    with ledger.write() as w:
        decided = maker.released(w)
        shipped = w.ship(maker.stamp(31), "DRF1", 4, "rack", "Invented Shop")
    with pytest.raises(RuleBroken, match=f"entry {shipped} builds on it"), ledger.write() as w:
        w.undo(maker.stamp(32), decided, "no")


def test_undo_from_the_newest_back_takes_everything_away(ledger, maker):
    """Every stock entry can be taken back in the reverse order, leaving nothing anywhere."""
    with ledger.write() as w:
        maker.released(w)
        w.ship(maker.stamp(31), "DRF1", 4, "rack", "Invented Shop")
    with ledger.read() as r:
        ids = [e.id for e in r.entries() if e.kind != "recipe"]
    for entry_id in reversed(ids):
        with ledger.write() as w:
            w.undo(maker.stamp(33), entry_id, "all wrong")
    with ledger.read() as r:
        assert (r.stock(), r.batches(), r.ingredient_lots()) == ([], [], [])
        assert check_balance(r.db) == []


def test_undo_twice_and_undo_of_undo_are_refused(ledger, maker):
    """An undo stays; the fact is entered again instead."""
    with ledger.write() as w:
        received = maker.receive(w)
        undone = w.undo(maker.stamp(), received, "oops")
    with pytest.raises(RuleBroken, match="undone already"), ledger.write() as w:
        w.undo(maker.stamp(), received, "oops")
    with pytest.raises(RuleBroken, match="is an undo and stays"), ledger.write() as w:
        w.undo(maker.stamp(), undone, "oops")


def test_undo_needs_a_reason_and_an_entry(ledger, maker):
    """Why is always asked; a number that is not there is not found."""
    with ledger.write() as w:
        received = maker.receive(w)
    with pytest.raises(BadInput, match="the reason is empty"), ledger.write() as w:
        w.undo(maker.stamp(), received, "")
    with pytest.raises(NotFound, match="no entry 99"), ledger.write() as w:
        w.undo(maker.stamp(), 99, "oops")


def test_every_bar_is_somewhere(ledger, maker):
    """Bars moved, shipped, kept, wasted and counted off add up to those unmoulded."""
    with ledger.write() as w:
        maker.released(w)
        w.move(maker.stamp(31), "DRF1", 6, "bars", "rack", "shelf")
        w.ship(maker.stamp(32), "DRF1", 3, "shelf", "Invented Shop")
        w.retain(maker.stamp(32), "DRF1", 1, "rack")
        w.waste(maker.stamp(32), "DRF1", 1, "rack", "dropped")
    with ledger.read() as r:
        places = Counter(r.batch("DRF1").places)
    assert places == {"rack": 2, "shelf": 3, "customer": 3, "retained": 1, "waste": 2}
    assert sum(places.values()) == 11
