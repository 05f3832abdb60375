"""What is read back, besides batches."""

import pytest

from soapstock.errors import NotFound


def test_stock_lists_every_lot_where_it_lies(ledger, maker):
    """Ingredients in mg and bars in bars; customers and waste are no stock."""
    with ledger.write() as w:
        maker.released(w)
        w.move(maker.stamp(31), "DRF1", 4, "bars", "rack", "shelf")
        w.ship(maker.stamp(31), "DRF1", 1, "shelf", "Invented Shop")
    with ledger.read() as r:
        lines = [(s.kind, s.item, s.lot_code, s.place, s.unit, s.quantity) for s in r.stock()]
    assert lines == [
        ("batch", "DRF", "DRF1", "rack", "bars", 6),
        ("batch", "DRF", "DRF1", "shelf", "bars", 3),
        ("ingredient", "beef-tallow", "TAL1", "store", "mg", 4_000_000),
    ]


def test_history_of_an_ingredient_lot_includes_the_pours_it_went_into(ledger, maker):
    """A lot's history is everything about it."""
    with ledger.write() as w:
        maker.bars(w)
    with ledger.read() as r:
        assert [e.kind for e in r.entries("TAL1")] == ["receive", "pour"]
        assert [e.kind for e in r.entries("DRF1")] == ["pour", "unmould"]


def test_limit_keeps_the_newest_entries_oldest_first(ledger, maker):
    """The last lines of history, in reading order."""
    with ledger.write() as w:
        maker.released(w)
    with ledger.read() as r:
        assert [e.id for e in r.entries(limit=2)] == [4, 5]


def test_lot_kind_tells_ingredients_from_bars(ledger, maker):
    """And knows nothing of a code that is not there."""
    with ledger.write() as w:
        maker.bars(w)
    with ledger.read() as r:
        assert [r.lot_kind(c) for c in ("TAL1", "DRF1", "NONE")] == ["ingredient", "batch", None]


def test_unknown_recipe_names_the_recipes_there_are(ledger, maker):
    """A misspelt code is met with a list."""
    with ledger.write() as w:
        maker.recipe(w)
    with pytest.raises(NotFound, match="no recipe DFR") as caught, ledger.read() as r:
        r.recipe("DFR")
    assert "DRF" in caught.value.hint


def test_recipes_gives_the_newest_version_of_each(ledger, maker):
    """By code."""
    with ledger.write() as w:
        for code, text in (("SAM", "1"), ("DRF", "1"), ("DRF", "2")):
            w.add_recipe(maker.stamp(), code=code, text=text)
    with ledger.read() as r:
        assert [(x.code, x.version) for x in r.recipes()] == [("DRF", 2), ("SAM", 1)]


def test_added_places_are_listed_with_the_built_in_ones(ledger, maker):
    """With kind and capacity."""
    with ledger.write() as w:
        w.add_place(maker.stamp(), "rack-2", "rack", 60)
    with ledger.read() as r:
        places = {p.name: (p.kind, p.capacity_bars) for p in r.places()}
    assert places["rack-2"] == ("rack", 60)
    assert places["store"] == ("store", None)


def test_head_is_the_newest_entry(ledger, maker):
    """Its hash is what a maker may note on paper."""
    with ledger.read() as r:
        assert r.head() == (0, "")
    with ledger.write() as w:
        maker.receive(w)
    with ledger.read() as r:
        number, digest = r.head()
    assert number == 1
    assert len(digest) == 64


def test_shipments_leave_out_undone_shipments(ledger, maker):
    """A shipment entered by mistake reached nobody."""
    with ledger.write() as w:
        maker.released(w)
        w.ship(maker.stamp(31), "DRF1", 1, "rack", "Invented Shop")
        w.undo(maker.stamp(31), 6, "typed twice")
    with ledger.read() as r:
        assert r.shipments() == []
