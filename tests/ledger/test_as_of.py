"""The book as it stood on an earlier day, on both databases."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from soapstock.ledger import Ledger
from soapstock.ledger.as_of import bars_by_place, codes_ever_used, latest_day
from tests.ledger.conftest import DAY_ONE


def test_an_empty_book_has_no_latest_day(ledger: Ledger) -> None:
    """Nothing has happened yet."""
    with ledger.read() as reader:
        assert latest_day(reader) is None


def test_bars_stand_where_they_stood_that_day(ledger: Ledger, maker: Any) -> None:
    """A move on day 40 is not seen on day 39; both days hold the same bars."""
    with ledger.write() as writer:
        maker.released(writer)
        writer.move(maker.stamp(40), "DRF1", 4, "bars", "rack", "shelf")
    with ledger.read() as reader:
        before = bars_by_place(reader, DAY_ONE + timedelta(days=39))["DRF1"]
        after = bars_by_place(reader, DAY_ONE + timedelta(days=40))["DRF1"]
        assert latest_day(reader) == DAY_ONE + timedelta(days=40)
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
        assert "shelf" not in bars_by_place(reader, DAY_ONE + timedelta(days=41))["DRF1"]


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
        assert "DRF1" in codes_ever_used(reader)
