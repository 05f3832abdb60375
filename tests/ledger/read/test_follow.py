"""What a recall reports."""

import pytest
from sqlalchemy import event

from soapstock.errors import NotFound
from soapstock.ledger.base.tables import MOVEMENT
from soapstock.ledger.facts import PourFacts, Use
from tests.ledger.conftest import Maker


@pytest.fixture
def shop(ledger, maker):
    """A batch partly shipped, counted short, and partly rebatched into another."""
    with ledger.write() as w:
        maker.released(w, bars=20)
        w.ship(maker.stamp(31), "DRF1", 6, "rack", "Invented Shop", "O-1", "Quay 3")
        w.count(maker.stamp(32, note="two gone"), "DRF1", "rack", 12)
        use = Use(lot_code="DRF1", ingredient="soap", role="addition", mass_mg=500_000, bars=5)
        w.pour(
            maker.stamp(40),
            PourFacts(
                lot_code="DRF2", recipe_code="DRF", recipe_version=1, uses=(use,), batter_mg=500_000
            ),
        )
        w.unmould(maker.stamp(41), "DRF2", 4, 0, 4, 450_000)
        w.decide(maker.stamp(80), "DRF2", "release", "fine")
        w.ship(maker.stamp(81), "DRF2", 1, "rack", "Other Shop")
    return ledger


def test_recall_of_a_fat_lot_reaches_rebatched_soap_and_its_customers(shop):
    """Two generations on, with who has what."""
    with shop.read() as r:
        found = r.recall("TAL1")
    assert [x.lot.lot_code for x in found.affected] == ["DRF1", "DRF2"]
    assert [(s.customer, s.lot_code, s.bars) for s in found.shipments] == [
        ("Invented Shop", "DRF1", 6),
        ("Other Shop", "DRF2", 1),
    ]


def test_recall_says_where_the_bars_are_and_how_many_are_missing(shop):
    """21 made: 6 shipped, 7 on the rack, 1 reject, 5 rebatched, 2 lost; of 25, 23 are known."""
    with shop.read() as r:
        found = r.recall("TAL1")
    first, second = found.affected
    assert first.places == {"customer": 6, "rack": 7, "waste": 1}
    assert (first.made, first.rebatched, first.unaccounted) == (21, 5, 2)
    assert sum(first.places.values()) + first.rebatched + first.unaccounted == first.made
    assert second.places == {"customer": 1, "rack": 3}
    assert found.accounted_percent == pytest.approx(100 * 23 / 25)


def test_a_recall_counts_bars_nobody_can_have(shop):
    """Bars a customer gave back without having got them are not accounted for, however booked."""
    with shop.write() as w:
        w.take_back(Maker().stamp(82), "DRF2", 1, "Other Shop")
        row = w._movement(w.lot("DRF2"), 1, "customer", "returned") | {"customer": "Other Shop"}
        w.enter(
            Maker().stamp(83),
            "return",
            summary="again",
            facts=[(MOVEMENT, row)],
            lot_id=row["lot_id"],
        )
    with shop.read() as r:
        found = r.recall("TAL1")
    assert found.affected[1].unaccounted == 1
    assert found.accounted_percent == pytest.approx(100 * 22 / 25)


def test_trace_back_names_the_supplier(shop):
    """From rebatched soap back to the farm."""
    with shop.read() as r:
        found = r.follow("DRF2")
    assert [(x.lot_code, x.depth, x.origin) for x in found.back] == [
        ("DRF2", 0, ""),
        ("DRF1", 1, ""),
        ("TAL1", 2, "Invented Farm"),
    ]
    assert [(x.source, x.made, x.bars) for x in found.links] == [
        ("TAL1", "DRF1", None),
        ("DRF1", "DRF2", 5),
    ]


def test_undone_pours_are_not_traced(ledger, maker):
    """What was not made has no customers."""
    with ledger.write() as w:
        maker.recipe(w)
        maker.receive(w)
        w.undo(maker.stamp(1), maker.pour(w), "wrong")
    with ledger.read() as r:
        assert [x.lot_code for x in r.follow("TAL1").forward] == ["TAL1"]


def test_trace_takes_five_queries(shop):
    """However many lots and generations there are."""
    seen = []
    hook = lambda *args: seen.append(args[2])  # noqa: E731 (handed to the event system twice)
    event.listen(shop.engine, "before_cursor_execute", hook)
    with shop.read() as r:
        r.follow("TAL1")
    event.remove(shop.engine, "before_cursor_execute", hook)
    assert len([sql for sql in seen if "FROM lot" in sql]) == 5


def test_unknown_lot_is_not_found(ledger):
    """Plainly."""
    with pytest.raises(NotFound, match="no lot NONE"), ledger.read() as r:
        r.follow("NONE")
