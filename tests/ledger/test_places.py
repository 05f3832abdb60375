"""One table says what each kind of place is for; SQL and rules are made from it."""

from typing import get_args

import pytest

from soapstock.errors import RuleBroken
from soapstock.ledger.places import KINDS, PlaceKind, kinds_that, only


@pytest.mark.parametrize("use", ["holds", "for_sale", "real", "open"])
def test_a_place_a_maker_adds_has_every_use_but_one(use):
    """`only` leaves out built-in places by name, which is right only while this holds."""
    assert kinds_that("added") <= kinds_that(use)
    assert not kinds_that("added") & kinds_that("free")


def test_every_built_in_place_is_named_as_its_kind(ledger):
    """So that the kinds are the names which SQL leaves out."""
    with ledger.read() as r:
        assert {p.name: p.kind for p in r.places()} == {kind: kind for kind in KINDS}


def test_no_kind_is_left_out():
    """Each kind that the type names has its row."""
    assert tuple(KINDS) == get_args(PlaceKind)


def test_sql_keeps_the_places_of_a_use():
    """By naming those without it."""
    assert only("p.place", "real") == (
        "p.place NOT IN ('supplier', 'pot', 'mould', 'count-difference')"
    )


@pytest.mark.parametrize("decision", ["hold", "reject"])
def test_a_stopped_batch_goes_on_no_shelf_whatever_its_name(ledger, maker, decision):
    """A counter of kind shelf is a shelf."""
    with ledger.write() as w:
        maker.bars(w)
        w.decide(maker.stamp(3), "DRF1", decision, "smells")
        w.add_place(maker.stamp(3), "counter", "shelf")
        w.add_place(maker.stamp(3), "shelfless", "rack")
    for place in ("shelf", "counter"):
        with pytest.raises(RuleBroken, match="not onto a shelf"), ledger.write() as w:
            w.move(maker.stamp(4), "DRF1", 2, "bars", "rack", place)
    with ledger.write() as w:
        w.move(maker.stamp(4), "DRF1", 2, "bars", "rack", "shelfless")


def test_bars_know_the_kind_of_their_place(ledger, maker):
    """What is for sale, and what stands on a shelf, is asked of the kind."""
    with ledger.write() as w:
        maker.released(w)
        w.add_place(maker.stamp(30), "counter", "shelf")
        w.move(maker.stamp(31), "DRF1", 3, "bars", "rack", "counter")
        w.retain(maker.stamp(31), "DRF1", 1)
        w.ship(maker.stamp(31), "DRF1", 2, "rack", "Invented Shop")
    with ledger.read() as r:
        batch = r.batch("DRF1")
    assert batch.for_sale() == {"rack": 4, "counter": 3}
    assert batch.in_hand == 7
    assert batch.on_shelf() == {"counter": 3}
    assert batch.places["retained"] == 1


def test_only_good_bars_are_weighed(ledger, maker):
    """Six of a lot of four good ones and two rejects cannot be on the scale."""
    with ledger.write() as w:
        maker.recipe(w)
        maker.receive(w)
        maker.pour(w)
        w.unmould(maker.stamp(2), "DRF1", 4, 2, 4, 400_000)
    with pytest.raises(RuleBroken, match="only 4 good bars; 6"), ledger.write() as w:
        w.weigh(maker.stamp(5), "DRF1", 6, 600_000)


def test_a_count_makes_no_bars(ledger, maker):
    """More on the rack than ever came out of the mould is another lot, or a slip."""
    with ledger.write() as w:
        maker.released(w)
        w.ship(maker.stamp(31), "DRF1", 4, "rack", "Invented Shop")
    with pytest.raises(RuleBroken, match="more than the 11"), ledger.write() as w:
        w.count(maker.stamp(32), "DRF1", "rack", 8)


def test_all_bars_weigh_no_more_than_was_poured(ledger, maker):
    """A sample of a few is held against the whole pour."""
    with ledger.write() as w:
        maker.recipe(w)
        maker.receive(w)
        maker.pour(w)
    with pytest.raises(RuleBroken, match="more than"), ledger.write() as w:
        w.unmould(maker.stamp(2), "DRF1", 10, 0, 2, 400_000)
