"""The book as it stood on an earlier day, on both databases."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from soapstock.ledger.store import Ledger
from tests.ledger.conftest import DAY_ONE


def test_an_empty_book_has_no_latest_day(ledger: Ledger) -> None:
    """Nothing has happened yet."""
    with ledger.read() as reader:
        assert reader.latest_day() is None


def test_bars_stand_where_they_stood_that_day(ledger: Ledger, maker: Any) -> None:
    """A move on day 40 is not seen on day 39; both days hold the same bars."""
    with ledger.write() as writer:
        maker.released(writer)
        writer.move(maker.stamp(40), "DRF1", 4, "bars", "rack", "shelf")
    with ledger.read() as reader:
        before = {at.place: at.bars for at in reader.held_on(DAY_ONE + timedelta(days=39))["DRF1"]}
        after = {at.place: at.bars for at in reader.held_on(DAY_ONE + timedelta(days=40))["DRF1"]}
        assert reader.latest_day() == DAY_ONE + timedelta(days=40)
    assert "shelf" not in before
    assert (after["rack"], after["shelf"]) == (before["rack"] - 4, 4)


def test_an_undone_move_never_happened(ledger: Ledger, maker: Any) -> None:
    """An undone entry is left out on every day, though its undo came later."""
    with ledger.write() as writer:
        maker.released(writer)
        entry = writer.move(maker.stamp(40), "DRF1", 4, "bars", "rack", "shelf")
    with ledger.write() as writer:
        writer.undo(maker.stamp(45), entry, "wrong rack")
    with ledger.read() as reader:
        assert "shelf" not in {
            at.place: at.bars for at in reader.held_on(DAY_ONE + timedelta(days=41))["DRF1"]
        }


def test_an_undone_lots_code_counts_as_used(ledger: Ledger, maker: Any) -> None:
    """A code that was printed once is never free again."""
    with ledger.write() as writer:
        maker.recipe(writer)
        maker.receive(writer)
        entry = maker.pour(writer)
    with ledger.write() as writer:
        writer.undo(maker.stamp(2), entry, "wrong recipe")
    with ledger.read() as reader:
        assert "DRF1" not in reader.all_lot_codes()
        assert "DRF1" in reader.codes_ever_used()


def test_stock_on_the_last_day_is_the_stock(ledger: Ledger, maker: Any) -> None:
    """With nothing later, both ways of asking agree line by line."""
    with ledger.write() as writer:
        maker.released(writer)
        writer.move(maker.stamp(40), "DRF1", 4, "bars", "rack", "shelf")
    with ledger.read() as reader:
        assert reader.stock_on(DAY_ONE + timedelta(days=40)) == reader.stock()


def test_stock_before_a_pour_holds_all_that_was_received(ledger: Ledger, maker: Any) -> None:
    """What the pour took is still in store on the day before it, and there are no bars yet."""
    with ledger.write() as writer:
        maker.recipe(writer)
        maker.receive(writer)
        maker.pour(writer)
    with ledger.read() as reader:
        before = reader.stock_on(DAY_ONE)
        after = reader.stock_on(DAY_ONE + timedelta(days=1))
    assert [(line.lot_code, line.quantity) for line in before] == [("TAL1", 5_000_000)]
    assert [(x.lot_code, x.quantity) for x in after if x.kind == "ingredient"] == [
        ("TAL1", 4_000_000)
    ]
