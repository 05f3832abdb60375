"""Follow and recall in the demo shop."""

import csv

import pytest

from soapstock.enter import recall as enter_recall
from soapstock.enter.decide import decide
from soapstock.enter.move import ship
from soapstock.enter.orders import take_back
from soapstock.errors import BadInput, RuleBroken
from soapstock.papers import recall as recall_papers
from soapstock.upkeep import ledger
from soapstock.views import follow
from soapstock.views.batch import views


def _ticks():
    """A clock that goes on by half a second each time it is read."""
    seconds = iter(n / 2 for n in range(100))
    return lambda: next(seconds)


@pytest.fixture
def oil(desk):
    """A lot of olive oil that went into several batches."""
    with desk.ledger.read() as reader:
        return max(
            reader.ingredient_lots("olive"), key=lambda x: len(reader.follow(x.lot_code).forward)
        )


def test_following_reaches_batches_and_customers(desk, oil):
    """All pours of the lot, and whoever received their bars."""
    found = follow.follow_row(follow.follow(desk, oil.lot_code))
    with desk.ledger.read() as reader:
        poured = [x.lot_code for x in reader.follow(oil.lot_code).forward if x.depth == 1]
        sent = {s.customer for s in reader.shipments() if s.lot_code in poured}
    assert len(found.forward) == len(poured)
    assert {s.customer for s in found.shipments} == sent != set()


def test_a_recall_only_asked_enters_nothing(desk, oil):
    """Looking is free."""
    before = ledger.audit(desk).entries
    done = enter_recall.recall(desk, oil.lot_code, clock=_ticks())
    assert done.entry_id is None
    assert done.seconds == 0.5
    assert ledger.audit(desk).entries == before


def test_a_practice_is_recorded_and_holds_nothing(desk, oil):
    """One entry, no decision."""
    before = {v.facts.lot_code: v.readiness.state for v in views(desk)}
    done = enter_recall.recall(desk, oil.lot_code, clock=_ticks(), practice=True)
    assert done.entry_id == ledger.audit(desk).entries
    assert {v.facts.lot_code: v.readiness.state for v in views(desk)} == before


def test_a_recall_for_real_stops_every_affected_lot(desk, oil):
    """None of them may ship any more."""
    done = enter_recall.recall(desk, oil.lot_code, clock=_ticks(), hold=True, why="supplier notice")
    affected = {a.lot.lot_code for a in done.found.affected}
    states = {v.facts.lot_code: v.readiness.state for v in views(desk)}
    assert {states[lot] for lot in affected} <= {"on hold", "rejected", "gone"}
    assert set(done.held) <= affected
    with desk.ledger.write() as w, pytest.raises(RuleBroken):
        w.ship(desk.stamp(), done.held[0], 1, "rack", "Invented Shop")
    assert ledger.audit(desk).problems == ()


def test_recall_needs_a_reason_and_is_not_a_practice_at_once(desk, oil):
    """One or the other."""
    with pytest.raises(BadInput, match="needs its reason"):
        enter_recall.recall(desk, oil.lot_code, clock=_ticks(), hold=True)
    with pytest.raises(BadInput, match="practice holds nothing"):
        enter_recall.recall(desk, oil.lot_code, clock=_ticks(), hold=True, practice=True, why="x")


def test_customers_go_to_a_csv_without_formulas(desk, tmp_path):
    """A customer's name cannot run in a spreadsheet."""
    lot = next(v.facts.lot_code for v in views(desk) if v.readiness.state == "ready")
    item = next(v for v in views(desk) if v.facts.lot_code == lot)
    place = next(p for p in item.facts.places if p in ("rack", "shelf"))
    with desk.ledger.write() as w:
        w.ship(desk.stamp(), lot, 1, place, "=1+2")
    done = enter_recall.recall(desk, lot, clock=_ticks())
    recall_papers.write_customers(tmp_path / "c.csv", done.customers)
    rows = list(csv.DictReader((tmp_path / "c.csv").read_text(encoding="utf-8").splitlines()))
    assert "'=1+2" in {row["customer"] for row in rows}


def test_who_sent_bars_back_is_not_told_as_having_them(desk):
    """Nobody is called about bars that lie in the shop; the sum is what customers have."""
    lot = "DRF-26241-AZ"
    take_back(desk, lot, 4, "A. Marsh (invented)", why="the wrong scent")
    take_back(desk, lot, 1, "Corner Grocer (invented)", order_ref="HS-34")
    done = enter_recall.recall(desk, lot, clock=_ticks())
    assert [(row.customer, row.bars) for row in done.customers] == [("Corner Grocer (invented)", 2)]
    assert sum(row.bars for row in done.customers) == done.found.affected[0].places["customer"]
    assert "A. Marsh" not in decide(desk, lot, "hold", "a doubt").notes[0]


def test_an_order_sent_from_two_places_is_told_once(desk):
    """One customer, one order, one lot, one day: one line."""
    for place in ("rack", "shelf"):
        ship(desk, "DRF-26241-AZ", 2, customer="Quay", order_ref="Q-1", from_place=place)
    done = enter_recall.recall(desk, "DRF-26241-AZ", clock=_ticks())
    assert [row.bars for row in done.customers if row.customer == "Quay"] == [4]
