"""Where bars go, and the decisions that let them go."""

from __future__ import annotations

from datetime import date

import pytest

from soapstock.desk.desk import Desk
from soapstock.desk.finding import read_lot
from soapstock.enter import batch as enter_batch
from soapstock.enter import decide, move
from soapstock.errors import BadInput, NotFound, RuleBroken
from soapstock.views import batch, lists
from tests.desks import on

READY = "DRF-26241-AZ"


def held(desk: Desk, lot: str) -> dict[str, int]:
    """Bars by place."""
    return dict(batch.view(desk, read_lot(desk, lot)).facts.places)


def test_bars_are_conserved_by_every_movement(desk: Desk) -> None:
    """Moving, shipping, retaining and wasting neither make nor lose a bar."""
    before = sum(held(desk, READY).values())
    move.move(desk, READY, 2, "shelf", from_place="rack")
    move.ship(desk, READY, 1, customer="C", from_place="shelf")
    move.retain(desk, READY, 1, from_place="rack")
    move.waste(desk, READY, "1", "dropped", from_place="rack")
    assert sum(held(desk, READY).values()) == before


def test_a_held_batch_cannot_ship(desk: Desk) -> None:
    """A hold stops shipping at once."""
    decide.decide(desk, READY, "hold", "a customer called")
    with pytest.raises(RuleBroken, match="on hold"):
        move.ship(desk, READY, 1, customer="C")


def test_a_hold_is_lifted_by_a_test_and_a_release(desk: Desk) -> None:
    """A hold is lifted only by a free-alkali test made since, then a release."""
    decide.decide(desk, READY, "hold", "a customer called")
    with pytest.raises(RuleBroken, match="not tested since"):
        decide.decide(desk, READY, "release", "retested")
    enter_batch.test(desk, READY, "tongue", passed=True)
    decide.decide(desk, READY, "release", "no zap")
    move.ship(desk, READY, 1, customer="C", from_place="shelf")
    assert held(desk, READY)["customer"] == 8


def test_a_hold_names_who_has_bars_already(desk: Desk) -> None:
    """A hold tells to whom bars went."""
    told = decide.decide(desk, READY, "hold", "a customer called")
    assert "Corner Grocer" in told.notes[0]


def test_refused_lye_needs_a_titration(desk: Desk) -> None:
    """A batch poured with refused lye is not released on a tongue test alone."""
    from soapstock.enter.pour import pour
    from soapstock.recipes.target import make_target

    aim = make_target(have="beef-tallow=300g", fat=None, bars=None, volume=None)
    early = on(desk, "2026-10-01")
    lot = pour(
        early, "EBB", ["naoh=70g"], target=aim, as_planned=True, record_anyway="in the mould"
    ).lot_code
    enter_batch.unmould(on(desk, "2026-10-02"), lot, 4, "540g")
    for day, mass in (("2026-10-10", "525g"), ("2026-10-20", "516g"), ("2026-11-18", "505g")):
        enter_batch.weigh(on(desk, day), lot, 4, mass)
    enter_batch.test(desk, lot, "tongue", passed=True)
    with pytest.raises(RuleBroken, match="tongue test is not enough"):
        decide.decide(desk, lot, "release", "zap free")
    enter_batch.test(desk, lot, "titration", passed=None, value="0.05")
    assert "released" in decide.decide(desk, lot, "release", "titrated").said


def test_a_release_is_judged_on_its_own_day(desk: Desk) -> None:
    """A release dated back to a day when the batch still cured is refused."""
    with pytest.raises(RuleBroken, match="cannot be released"):
        decide.decide(desk, "EBB-26285-AZ", "release", "dry", on=date(2026, 10, 20))


def test_a_shipment_is_judged_on_its_own_day(desk: Desk) -> None:
    """Bars cannot have shipped before their release."""
    with pytest.raises(RuleBroken, match="may not ship"):
        move.ship(desk, READY, 1, customer="C", on=date(2026, 10, 1), from_place="rack")


def test_bars_past_their_best_before_do_not_ship(desk: Desk) -> None:
    """A batch past its date is neither listed as ready nor shipped."""
    late = on(desk, "2027-09-01")
    with pytest.raises(RuleBroken, match="best before"):
        move.ship(late, READY, 1, customer="C", from_place="shelf")
    assert READY.replace("-", "") not in {line.item.facts.lot_code for line in lists.ready(late)}


def test_a_count_cannot_invent_bars(desk: Desk) -> None:
    """More bars than were unmoulded cannot be counted."""
    with pytest.raises(RuleBroken, match="more than the 22"):
        move.count(desk, READY, "shelf", "40")


def test_rejected_bars_do_not_go_to_the_shelf(desk: Desk) -> None:
    """What may not be sold is kept off the shelf."""
    decide.decide(desk, READY, "reject", "rancid")
    with pytest.raises(RuleBroken, match="not onto a shelf"):
        move.move(desk, READY, 1, "shelf", from_place="rack")


def test_a_rejected_batch_stays_rejected(desk: Desk) -> None:
    """A rejected batch cannot be released."""
    decide.decide(desk, READY, "reject", "rancid")
    with pytest.raises(RuleBroken, match="rejected"):
        decide.decide(desk, READY, "release", "changed my mind")


def test_two_places_ask_which(desk: Desk) -> None:
    """With bars in two places and no shelf to prefer, the place must be named."""
    move.move(desk, READY, 3, "store", from_place="shelf")
    with pytest.raises(BadInput, match="several places"):
        move.ship(desk, READY, 1, customer="C")


def test_a_count_posts_its_difference(desk: Desk) -> None:
    """Counting fewer than the book says leaves the counted number."""
    told = move.count(desk, READY, "rack", "9")
    assert "2 bars fewer" in told.said
    assert held(desk, READY)["rack"] == 9


def test_an_ingredient_lot_is_counted_by_mass(desk: Desk) -> None:
    """A mass with its unit counts an ingredient lot."""
    with desk.ledger.read() as reader:
        lot = reader.ingredient_lots("coconut")[0].lot_code
    move.count(desk, lot, "store", "1.5 kg")
    with desk.ledger.read() as reader:
        assert reader.ingredient_lots("coconut")[0].left_mg == 1_500_000


def test_a_mistyped_lot_offers_the_near_one(desk: Desk) -> None:
    """A wrong check character is refused and the likeliest lot offered."""
    with pytest.raises(BadInput) as told:
        read_lot(desk, "DRF-26241-AX")
    assert READY in told.value.hint


def test_an_ingredient_lot_is_no_batch(desk: Desk) -> None:
    """An ingredient lot cannot be rejected, and is let go only from a hold."""
    with desk.ledger.read() as reader:
        lot = reader.ingredient_lots("coconut")[0].lot_code
    with pytest.raises(NotFound, match="not a batch"):
        decide.decide(desk, lot, "reject", "x")
    with pytest.raises(RuleBroken, match="not on hold"):
        decide.decide(desk, lot, "release", "x")
