"""Batches are read whole, and in a fixed number of queries."""

from datetime import date

import pytest
from sqlalchemy import event

from soapstock.errors import NotFound, RuleBroken


def _queries(ledger, read):
    seen = []
    hook = lambda *args: seen.append(args[2])  # noqa: E731 (handed to the event system twice)
    event.listen(ledger.engine, "before_cursor_execute", hook)
    with ledger.read() as r:
        read(r)
    event.remove(ledger.engine, "before_cursor_execute", hook)
    return len(seen)


def test_batches_takes_the_same_number_of_queries_for_one_and_for_many(ledger, maker):
    """No query per batch."""
    with ledger.write() as w:
        maker.bars(w)
    one = _queries(ledger, lambda r: r.batches())
    with ledger.write() as w:
        for number in range(2, 12):
            maker.pour(w, f"DRF{number}", mass_mg=100_000)
    assert _queries(ledger, lambda r: r.batches()) == one
    assert _queries(ledger, lambda r: r.batch("DRF3")) <= one + 1


def test_pour_reads_back_as_entered(ledger, maker):
    """Masses, lots, conditions and both judgements."""
    with ledger.write() as w:
        maker.recipe(w)
        maker.receive(w, best_before=date(2027, 1, 1))
        maker.pour(w, planned_json='{"a": 1}', judgement_json='{"b": 2}', lye_c=41.5, mould="loaf")
    with ledger.read() as r:
        batch = r.batch("DRF1")
    pour = batch.pour
    assert [(u.lot_code, u.role, u.mass_mg) for u in pour.uses] == [("TAL1", "fat", 1_000_000)]
    assert [(u.ingredient, u.mass_mg) for u in pour.unlotted] == [("water", 300_000)]
    assert (pour.planned_json, pour.judgement_json) == ('{"a": 1}', '{"b": 2}')
    assert (pour.lye_c, pour.fats_c, pour.mould, pour.batter_mg) == (41.5, None, "loaf", 1_300_000)
    assert batch.ingredient_lots["TAL1"].best_before == date(2027, 1, 1)
    assert (batch.recipe_code, batch.recipe_version, batch.poured_on) == (
        "DRF",
        1,
        date(2026, 9, 2),
    )


def test_in_stock_leaves_out_batches_that_are_gone(ledger, maker):
    """A batch in the mould counts, one wholly shipped does not."""
    with ledger.write() as w:
        maker.released(w, bars=2)
        maker.pour(w, "DRF2", mass_mg=100_000)
        w.ship(maker.stamp(31), "DRF1", 2, "rack", "Invented Shop")
    with ledger.read() as r:
        assert [b.lot_code for b in r.batches(in_stock=True)] == ["DRF2"]
        assert [b.lot_code for b in r.batches()] == ["DRF1", "DRF2"]


def test_undone_pour_is_no_batch(ledger, maker):
    """It stays in history only."""
    with ledger.write() as w:
        maker.recipe(w)
        maker.receive(w)
        w.undo(maker.stamp(1), maker.pour(w), "wrong recipe")
    with pytest.raises(NotFound, match="no batch DRF1"), ledger.read() as r:
        r.batch("DRF1")


def test_an_ingredient_lot_is_not_a_batch(ledger, maker):
    """And the refusal says what it is."""
    with ledger.write() as w:
        maker.receive(w)
    with pytest.raises(RuleBroken, match="TAL1 is an ingredient lot"), ledger.read() as r:
        r.batch("TAL1")


def test_ingredient_lots_come_first_expired_first(ledger, maker):
    """Those without a date last."""
    with ledger.write() as w:
        maker.receive(w, "TAL1")
        maker.receive(w, "TAL2", best_before=date(2027, 5, 1))
        maker.receive(w, "TAL3", best_before=date(2027, 1, 1))
    with ledger.read() as r:
        found = [lot.lot_code for lot in r.ingredient_lots("beef-tallow")]
        assert r.ingredient_lots("lard") == []
    assert found == ["TAL3", "TAL2", "TAL1"]
