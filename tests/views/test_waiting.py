"""The waiting list: first come first, after the orders; the newest word stands; undone like any."""

from __future__ import annotations

import pytest

from soapstock.desk.desk import Desk
from soapstock.enter.orders import want
from soapstock.errors import BadInput, NotFound
from soapstock.views.orders import waiting
from tests.desks import desk

__all__ = ["desk"]


def test_first_come_is_told_first(desk: Desk) -> None:
    """14 Driftwood are ready and 6 ordered: 5 for the first, not 5 more, but 3 for the third."""
    for who, bars in (("A", 5), ("B", 5), ("C", 3)):
        want(desk, who, f"DRF={bars}")
    assert [row.there_now for row in waiting(desk)] == ["yes", "not yet", "yes"]


def test_the_newest_word_stands(desk: Desk) -> None:
    """A second word replaces the first; none ends it; an undo brings it back."""
    want(desk, "A", "DRF=5", contact="a@x.example")
    want(desk, "A", "drf=2")
    assert [(r.customer, r.bars) for r in waiting(desk)] == [("A", 2)]
    ended = want(desk, "A", "DRF=0")
    assert waiting(desk) == []
    with desk.ledger.write() as writer:
        writer.undo(desk.stamp(), ended.entry_id, "not so")
    assert [r.bars for r in waiting(desk)] == [2]


def test_what_is_not_understood_is_refused(desk: Desk) -> None:
    """One clear line, and nothing written."""
    with pytest.raises(BadInput, match="not understood"):
        want(desk, "A", "DRF")
    with pytest.raises(NotFound):
        want(desk, "A", "QQQ=2")
    assert waiting(desk) == []
