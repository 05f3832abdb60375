"""What is to be done today, in the demo shop: whatever a list knows to be wrong is said."""

from datetime import date, timedelta

import pytest

from soapstock.enter import batch as enter_batch
from soapstock.enter import move
from soapstock.enter import orders as enter_orders
from soapstock.enter import stock as enter_stock
from soapstock.enter.decide import decide
from soapstock.errors import BadInput
from soapstock.tables.shipped import shipped_dir
from soapstock.units import several
from soapstock.views import orders as orders_views
from soapstock.views.batch import view, views
from soapstock.views.lists import curing
from soapstock.views.today import Step, steps
from tests.desks import on


def said(found: list[Step], what: str) -> set[str]:
    """What all steps of a kind are about."""
    return {step.about for step in found if step.what == what}


def test_each_batch_that_waits_has_one_next_step(desk):
    """The curing list and this one know the same batches."""
    waiting = {v.facts.lot_code.shown for v in curing(desk)}
    about = [s.about for s in steps(desk, 0) if s.what not in ("look at", "expires", "expired")]
    assert {lot: about.count(lot) for lot in waiting} == dict.fromkeys(waiting, 1)


def test_what_is_due_comes_before_what_is_coming(desk):
    """And a batch on hold before everything else, with its reason."""
    found = steps(desk, 0)
    due = [s.is_due(desk.today) for s in found]
    assert due == sorted(due, reverse=True)
    assert (found[0].what, "zap" in found[0].why) == ("on hold", True)


def test_a_batch_left_in_its_mould_is_due_to_come_out(desk):
    """From the day after the pour on, for as long as it stands there."""
    lot = next(v for v in views(desk) if v.readiness.state == "in mould")
    later = on(desk, "2026-12-31")
    step = next(s for s in steps(later, 0) if s.about == lot.facts.lot_code.shown)
    assert (step.what, step.due) == ("unmould", lot.facts.poured_on + timedelta(days=1))


def test_a_failed_test_comes_first(desk):
    """What may hurt somebody is said before anything else."""
    lot = next(v.facts.lot_code for v in views(desk) if v.readiness.state == "awaiting test")
    enter_batch.test(desk, lot, "tongue", passed=False)
    assert (steps(desk, 0)[0].what, steps(desk, 0)[0].about) == ("failed", lot.shown)


def test_orders_that_no_bars_cover_are_short_by_how_much(desk):
    """The day before and long before it is due, for the day it is due."""
    enter_orders.add(desk, "W-9", "A", ["DRF=400"], wanted_on=date(2026, 12, 24))
    step = next(s for s in steps(desk, 0) if s.what == "short")
    row = next(r for r in orders_views.promise(desk) if r.recipe == "DRF" and r.short)
    assert step.about == "DRF"
    assert f"want {row.short} more" in step.why
    late = steps(on(desk, "2026-12-25"), 0)
    assert "W-9" in said(late, "short")


def test_an_order_is_sent_only_from_bars_not_kept_for_another(desk):
    """What is reserved for a later order is not free for this one."""
    ready = sum(
        v.bars for v in views(desk) if v.readiness.state == "ready" and v.facts.recipe_code == "DRF"
    )
    enter_orders.add(desk, "LATER", "A", [f"DRF={ready}"], wanted_on=date(2026, 12, 24))
    enter_orders.reserve(desk, "LATER")
    enter_orders.add(desk, "NOW", "B", ["DRF=1"])
    step = next(s for s in steps(desk, 0) if s.about == "NOW")
    assert (step.what, step.why) == ("short", "lacks 1 of DRF")


def test_low_stock_is_said(desk):
    """Under the level, for an ingredient by mass and a recipe by bars; on hold counts as bars."""
    enter_stock.set_level(desk, "olive", "900kg")
    enter_stock.set_level(desk, "DRF", "9000")
    assert said(steps(desk, 0), "low") == {"olive", "DRF"}
    enter_stock.set_level(desk, "olive", "0g")
    assert said(steps(desk, 0), "low") == {"DRF"}


def test_ingredients_near_their_date_are_said_from_that_day_on(desk):
    """Not the day before it comes into sight."""
    with desk.ledger.read() as r:
        lot = next(x for x in r.ingredient_lots() if x.best_before and x.best_before > desk.today)
    ahead = (lot.best_before - desk.today).days
    assert lot.lot_code.shown in said(steps(desk, ahead), "expires")
    assert lot.lot_code.shown not in said(steps(desk, ahead - 1), "expires")
    past = on(desk, (lot.best_before + timedelta(days=1)).isoformat())
    assert lot.lot_code.shown in said(steps(past, 0), "expired")


def test_bars_wasted_from_under_an_order_are_said(desk):
    """Dropped bars are gone whether or not somebody ordered them; the maker must know."""
    enter_orders.take_in(desk, shipped_dir("sample_data") / "orders.csv", None)
    enter_orders.reserve(desk, "HS-41")
    lot, kept = next(iter(orders_views.one(desk, "HS-41").reserved.items()))
    assert lot.shown not in said(steps(desk, 0), "short")
    for place, bars in view(desk, lot).facts.for_sale().items():
        move.waste(desk, lot, str(bars), "dropped the tray", from_place=place)
    step = next(s for s in steps(desk, 0) if s.about == lot.shown and s.what == "short")
    assert step.why == f"{several(kept, 'bar')} kept for orders, 0 there"


def test_a_full_place_is_said(desk):
    """No room is left on it."""
    enter_stock.add_place(desk, "rack-9", "rack", 1)
    lot = next(v for v in views(desk) if v.readiness.state == "ready")
    place = next(iter(lot.facts.for_sale()))
    assert "rack-9" not in said(steps(desk, 0), "full")
    move.move(desk, lot.facts.lot_code, 1, "rack-9", from_place=place)
    assert "rack-9" in said(steps(desk, 0), "full")


@pytest.mark.parametrize("days", [-1, 10**6])
def test_an_absurd_look_ahead_is_refused(desk, days):
    """Rather than overflowing a date."""
    with pytest.raises(BadInput):
        steps(desk, days)


def test_a_new_shop_has_nothing_to_do(empty):
    """And no error."""
    assert steps(empty, 60) == []


def test_an_ingredient_lot_on_hold_is_said(desk):
    """Nothing is taken of it: who plans the next pour must know, and why."""
    with desk.ledger.read() as reader:
        lot = reader.ingredient_lots("olive")[0].lot_code
    decide(desk, lot, "hold", "smells rancid")
    step = next(step for step in steps(desk, 60) if step.about == lot.shown)
    assert (step.what, step.name) == ("on hold", "olive")
    assert "smells rancid" in step.why
    assert step.is_due(desk.today)
