"""What a failed test for free alkali stops, and what opens it again."""

from __future__ import annotations

import pytest

from soapstock.codes.lot import LotCode
from soapstock.desk.desk import Desk
from soapstock.enter.batch import test as enter_test
from soapstock.enter.decide import decide
from soapstock.enter.move import move, ship
from soapstock.enter.undo import undo
from soapstock.errors import RuleBroken
from soapstock.views.batch import view, views
from soapstock.views.label import label_text
from soapstock.views.orders import supply_day

FAILS = [("tongue", ""), ("phenolphthalein", ""), ("titration", "0.3"), ("ph", "11.4")]


def ready_lot(desk: Desk) -> LotCode:
    """A batch of the demo that may ship."""
    return next(v.facts.lot_code for v in views(desk) if v.readiness.state == "ready")


@pytest.mark.parametrize(("method", "value"), FAILS)
def test_a_failed_test_of_any_kind_holds_the_batch_at_once(
    desk: Desk, method: str, value: str
) -> None:
    """It is failed, and no bar ships, is promised, goes to a shelf or gets a label."""
    lot = ready_lot(desk)
    enter_test(desk, lot, method, passed=None if value else False, value=value)
    item = view(desk, lot)
    assert item.readiness.state == "failed"
    assert supply_day(item, optimistic=True) is None
    with pytest.raises(RuleBroken, match="failed"):
        ship(desk, lot, 1, customer="A. Customer")
    with pytest.raises(RuleBroken, match="FAILED"):
        label_text(desk, lot)
    with pytest.raises(RuleBroken, match="FAILED"):
        decide(desk, lot, "release", "looks fine")
    place = next(place for place in item.facts.for_sale())
    with pytest.raises(RuleBroken, match="not onto a shelf"):
        move(desk, lot, 1, "shelf", from_place=place)
    with desk.ledger.write() as writer, pytest.raises(RuleBroken, match="cannot ship"):
        writer.ship(desk.stamp(), lot, 1, place, "A. Customer")


@pytest.mark.parametrize(("method", "value"), FAILS)
def test_only_a_titration_clears_a_failed_test(desk: Desk, method: str, value: str) -> None:
    """Two bars may burn where a third does not: a second tongue says nothing of the first."""
    lot = ready_lot(desk)
    enter_test(desk, lot, method, passed=None if value else False, value=value)
    for weaker in ("tongue", "phenolphthalein"):
        enter_test(desk, lot, weaker, passed=True)
        assert view(desk, lot).readiness.state == "failed"
    enter_test(desk, lot, "ph", passed=None, value="9.5")
    assert view(desk, lot).readiness.state == "failed"
    enter_test(desk, lot, "titration", passed=None, value="0.04")
    assert view(desk, lot).readiness.state == "awaiting release"


def test_a_release_before_the_failure_does_not_stand_after_it(desk: Desk) -> None:
    """Once a titration has passed, a person must look and release the batch again."""
    lot = ready_lot(desk)
    enter_test(desk, lot, "tongue", passed=False)
    enter_test(desk, lot, "titration", passed=None, value="0.02")
    place = next(place for place in view(desk, lot).facts.for_sale())
    with desk.ledger.write() as writer, pytest.raises(RuleBroken, match="not released"):
        writer.ship(desk.stamp(), lot, 1, place, "A. Customer")
    decide(desk, lot, "release", "titrated")
    assert view(desk, lot).readiness.state == "ready"


def test_a_mistyped_failure_is_undone_and_all_is_as_before(desk: Desk) -> None:
    """The release before it stands again."""
    lot = ready_lot(desk)
    entry = enter_test(desk, lot, "tongue", passed=False).entry_id
    undo(desk, entry, because="wrong batch")
    assert view(desk, lot).readiness.state == "ready"
