"""Places, levels, warnings, labels and samples in the demo shop."""

from dataclasses import replace
from functools import partial

import pytest

from soapstock.enter import stock as enter_stock
from soapstock.enter.stock import count_printed
from soapstock.errors import BadInput, NotFound, RuleBroken
from soapstock.papers import designs, labels
from soapstock.upkeep import ledger
from soapstock.views import label as label_views
from soapstock.views import stock as stock_views
from soapstock.views.batch import views


@pytest.fixture
def shipped(desk):
    """A batch with shipments."""
    return next(v.facts for v in views(desk) if v.facts.shipments)


def test_a_place_shows_its_room(desk):
    """Capacity less bars there."""
    enter_stock.add_place(desk, "rack-9", "rack", 60)
    row = next(r for r in stock_views.places(desk) if r.place == "rack-9")
    assert (row.bars, row.room) == (0, 60)


@pytest.mark.parametrize(("item", "amount"), [("olive", "lots"), ("nothing-known", "5kg")])
def test_a_level_for_nothing_known_is_refused(desk, item, amount):
    """And nothing is entered."""
    before = ledger.audit(desk).entries
    with pytest.raises((BadInput, NotFound)):
        enter_stock.set_level(desk, item, amount)
    assert ledger.audit(desk).entries == before


def test_labels_that_do_not_add_up_are_found(desk, shipped):
    """More used than printed; and bars shipped without a label."""
    lot = shipped.lot_code
    enter_stock.count_labels(desk, lot, printed=3, spoiled=0, used=0)
    assert "shipped without a label" in stock_views.reconcile(desk)[0].finding
    enter_stock.count_labels(desk, lot, printed=0, spoiled=2, used=5)
    assert stock_views.reconcile(desk)[0].finding == "4 more used and spoiled than printed"


def test_labels_that_add_up_are_quiet(desk, shipped):
    """One a bar made, two spoiled, the rest left."""
    made = shipped.unmould.bars
    enter_stock.count_labels(desk, shipped.lot_code, printed=made + 5, spoiled=2, used=made)
    row = stock_views.reconcile(desk)[0]
    assert (row.left, row.finding) == (3, "")


def test_samples_are_listed_and_their_lack_is_found(desk):
    """Every batch that shipped is in the list."""
    rows = {r.lot: r for r in stock_views.samples(desk)}
    for item in views(desk):
        if item.facts.shipments:
            row = rows[item.facts.lot_code]
            assert bool(row.finding) == (row.retained == 0)


def test_a_place_of_no_known_kind_is_refused(desk):
    """Nor is a second one of the same name."""
    with pytest.raises(BadInput, match="kind of place"):
        enter_stock.add_place(desk, "barn", "barn", None)
    with pytest.raises(RuleBroken, match="there already"):
        enter_stock.add_place(desk, "rack", "rack", None)


def test_a_print_run_is_counted_only_when_it_is_said(desk, shipped, tmp_path):
    """A proof printed twice must not make the reconciliation lie."""
    label = label_views.label_text(desk, shipped.lot_code)
    labels.print_labels(desk, label, tmp_path / "proof.pdf", copies=5)
    assert stock_views.reconcile(desk) == []
    told = labels.print_labels(
        desk, label, tmp_path / "run.pdf", copies=5, count=partial(count_printed, desk)
    )
    assert stock_views.reconcile(desk)[0].printed == 5
    assert told.warnings[0].startswith("Counted 5 labels")


def test_a_run_of_several_lots_counts_each_lot_once(desk, shipped, tmp_path):
    """Two lines of one lot make one entry."""
    other = next(
        b.facts
        for b in views(desk)
        if b.readiness.state == "ready" and b.facts.lot_code != shipped.lot_code
    )
    runs = ((shipped.lot_code, 4), (other.lot_code, 3), (shipped.lot_code, 2))
    wanted = [labels.Wanted(lot=lot, copies=n, line=1) for lot, n in runs]
    face, sheet = designs.designs_for(desk, None, None)
    before = ledger.audit(desk).entries
    labels.print_run(
        desk,
        wanted,
        tmp_path / "run.pdf",
        face=face,
        sheet=sheet,
        count=partial(count_printed, desk),
    )
    assert sorted(row.printed for row in stock_views.reconcile(desk)) == [3, 6]
    assert ledger.audit(desk).entries == before + 2


def test_labels_that_cannot_be_counted_are_not_printed(desk, shipped, tmp_path):
    """Nobody is named for the entry, so no PDF is made."""
    label = label_views.label_text(desk, shipped.lot_code)
    nameless = replace(desk, by="")
    counted = partial(count_printed, nameless)
    with pytest.raises(BadInput, match="nobody is named"):
        labels.print_labels(nameless, label, tmp_path / "run.pdf", count=counted)
    assert not (tmp_path / "run.pdf").exists()


def test_lots_are_found_by_any_name_and_an_unknown_one_is_refused(desk):
    """`tallow` is every tallow, `Beef tallow` the one; what nothing is called is not "none"."""
    both = {"beef-tallow", "mutton-tallow"}
    for name, meant in {"tallow": both, "Beef tallow": {"beef-tallow"}}.items():
        rows = stock_views.ingredient_lots(desk, name, everything=False)
        assert {row.ingredient for row in rows} == meant
    with pytest.raises(NotFound, match="unobtainium"):
        stock_views.ingredient_lots(desk, "unobtainium", everything=False)
