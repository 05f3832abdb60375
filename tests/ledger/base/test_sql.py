"""Reads by plain SQL mean the same on both databases."""

import pytest

from soapstock.ledger.base.sql import query


@pytest.mark.parametrize("condition", ["l.code IN :asked", "l.id IN :asked"])
def test_an_empty_list_finds_nothing(ledger, maker, condition):
    """PostgreSQL compares no text with a bare NULL of another type, so the list needs one."""
    with ledger.write() as w:
        maker.receive(w)
    with ledger.read() as r:
        found = r.db.execute(query(f"SELECT l.code FROM lot l WHERE {condition}"), {"asked": []})
        assert found.all() == []


def test_a_list_finds_what_it_names(ledger, maker):
    """By text and by number."""
    with ledger.write() as w:
        number = maker.receive(w)
        maker.receive(w, "TAL2")
    by_code = query("SELECT l.code FROM lot l WHERE l.code IN :asked ORDER BY l.code")
    by_id = query("SELECT l.code FROM lot l WHERE l.id IN :asked")
    with ledger.read() as r:
        assert list(r.db.execute(by_code, {"asked": ["TAL1", "TAL2", "X"]}).scalars()) == [
            "TAL1",
            "TAL2",
        ]
        assert list(r.db.execute(by_id, {"asked": [number]}).scalars()) == ["TAL1"]


def test_no_lots_asked_for_are_no_batches(ledger, maker):
    """The read under lists of a shop without stock, and under orders that nothing is kept for."""
    with ledger.write() as w:
        maker.bars(w)
    with ledger.read() as r:
        assert r.batches(lots=[]) == []
