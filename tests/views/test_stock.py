"""Places, levels, warnings, labels and samples in the demo shop."""

from dataclasses import replace
from datetime import timedelta
from functools import partial

import pytest

from soapstock.codes.lot import format_code
from soapstock.enter import move
from soapstock.enter import orders as enter_orders
from soapstock.enter import stock as enter_stock
from soapstock.enter.stock import count_printed
from soapstock.errors import BadInput, NotFound, RuleBroken
from soapstock.papers import designs, labels
from soapstock.tables.shipped import shipped_dir
from soapstock.upkeep import ledger
from soapstock.views import label as label_views
from soapstock.views import orders as orders_views
from soapstock.views import stock as stock_views
from soapstock.views.batch import view, views


@pytest.fixture
def shipped(desk):
    """A batch with shipments."""
    return next(v.facts for v in views(desk) if v.facts.shipments)


def test_a_place_shows_its_room(desk):
    """Capacity less bars there."""
    enter_stock.add_place(desk, "rack-9", "rack", 60)
    row = next(r for r in stock_views.places(desk) if r["place"] == "rack-9")
    assert (row["bars"], row["room"]) == (0, 60)


def test_low_stock_is_a_warning(desk):
    """Under the level, for an ingredient by mass and a recipe by bars."""
    enter_stock.set_level(desk, "olive", "900kg")
    enter_stock.set_level(desk, "DRF", "9000")
    low = {r["item"] for r in stock_views.warnings(desk, 0) if r["what"] == "low"}
    assert low == {"olive", "DRF"}
    enter_stock.set_level(desk, "olive", "0g")
    assert {r["item"] for r in stock_views.warnings(desk, 0) if r["what"] == "low"} == {"DRF"}


def test_ingredients_near_their_date_are_a_warning_from_that_day_on(desk):
    """Not the day before it comes into sight."""
    with desk.ledger.read() as r:
        lot = next(x for x in r.ingredient_lots() if x.best_before and x.left_mg)
    ahead = (lot.best_before - desk.today).days
    assert any(w["on"] == lot.best_before for w in stock_views.warnings(desk, max(ahead, 0)))
    assert not any(
        w["on"] == lot.best_before for w in stock_views.warnings(desk, max(ahead - 1, 0))
    )
    assert lot.best_before == desk.today + timedelta(days=ahead)


def test_bars_wasted_from_under_an_order_are_a_warning(desk):
    """Dropped bars are gone whether or not somebody ordered them; the maker must know."""
    enter_orders.take_in(desk, shipped_dir("sample_data") / "orders.csv", None)
    enter_orders.reserve(desk, "HS-41")
    lot, kept = next(iter(orders_views.one(desk, "HS-41").reserved.items()))
    places = view(desk, lot).facts.for_sale()
    assert not any(w["what"] == "short for orders" for w in stock_views.warnings(desk, 0))
    for place, bars in places.items():
        move.waste(desk, lot, str(bars), "dropped the tray", from_place=place)
    found = [w for w in stock_views.warnings(desk, 0) if w["what"] == "short for orders"]
    assert [(w["lot"], w["left"], w["level"]) for w in found] == [
        (format_code(lot), "0 bars", f"{kept} bars kept")
    ]


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
    assert "shipped without a label" in stock_views.reconcile(desk)[0]["finding"]
    enter_stock.count_labels(desk, lot, printed=0, spoiled=2, used=5)
    assert stock_views.reconcile(desk)[0]["finding"] == "4 more used and spoiled than printed"


def test_labels_that_add_up_are_quiet(desk, shipped):
    """One a bar made, two spoiled, the rest left."""
    made = shipped.unmould.bars
    enter_stock.count_labels(desk, shipped.lot_code, printed=made + 5, spoiled=2, used=made)
    row = stock_views.reconcile(desk)[0]
    assert (row["left"], row["finding"]) == (3, "")


def test_samples_are_listed_and_their_lack_is_found(desk):
    """Every batch that shipped is in the list."""
    rows = {r["lot"].replace("-", ""): r for r in stock_views.samples(desk)}
    for item in views(desk):
        if item.facts.shipments:
            row = rows[item.facts.lot_code]
            assert bool(row["finding"]) == (row["retained"] == 0)


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
    assert stock_views.reconcile(desk)[0]["printed"] == 5
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
    assert sorted(row["printed"] for row in stock_views.reconcile(desk)) == [3, 6]
    assert ledger.audit(desk).entries == before + 2


def test_labels_that_cannot_be_counted_are_not_printed(desk, shipped, tmp_path):
    """Nobody is named for the entry, so no PDF is made."""
    label = label_views.label_text(desk, shipped.lot_code)
    nameless = replace(desk, by="")
    counted = partial(count_printed, nameless)
    with pytest.raises(BadInput, match="nobody is named"):
        labels.print_labels(nameless, label, tmp_path / "run.pdf", count=counted)
    assert not (tmp_path / "run.pdf").exists()
