"""Where bars go, and the decisions that let them go."""

from __future__ import annotations

import pytest

from soapstock.actions import batches, moving
from soapstock.actions.desk import Desk, read_lot
from soapstock.errors import BadInput, NotFound, RuleBroken

READY = "DRF-26241-AZ"


def held(desk: Desk, lot: str) -> dict[str, int]:
    """Bars by place."""
    return dict(batches.view(desk, read_lot(desk, lot)).facts.places)


def test_bars_are_conserved_by_every_movement(desk: Desk) -> None:
    """Moving, shipping, retaining and wasting neither make nor lose a bar."""
    before = sum(held(desk, READY).values())
    moving.move(desk, READY, 2, "shelf", from_place="rack")
    moving.ship(desk, READY, 1, customer="C", from_place="shelf")
    moving.retain(desk, READY, 1, from_place="rack")
    moving.waste(desk, READY, "1", "dropped", from_place="rack")
    assert sum(held(desk, READY).values()) == before


def test_a_held_batch_cannot_ship(desk: Desk) -> None:
    """A hold stops shipping at once."""
    moving.decide(desk, READY, "hold", "a customer called")
    with pytest.raises(RuleBroken, match="on hold"):
        moving.ship(desk, READY, 1, customer="C")


def test_a_hold_is_lifted_by_a_release(desk: Desk) -> None:
    """After a hold a new release lets it ship again."""
    moving.decide(desk, READY, "hold", "a customer called")
    moving.decide(desk, READY, "release", "titrated: fine")
    moving.ship(desk, READY, 1, customer="C", from_place="shelf")
    assert held(desk, READY)["customer"] == 8


def test_a_rejected_batch_stays_rejected(desk: Desk) -> None:
    """A rejected batch cannot be released."""
    moving.decide(desk, READY, "reject", "rancid")
    with pytest.raises(RuleBroken, match="rejected"):
        moving.decide(desk, READY, "release", "changed my mind")


def test_two_places_ask_which(desk: Desk) -> None:
    """With bars in two places and no shelf to prefer, the place must be named."""
    moving.move(desk, READY, 3, "store", from_place="shelf")
    with pytest.raises(BadInput, match="several places"):
        moving.ship(desk, READY, 1, customer="C")


def test_a_count_posts_its_difference(desk: Desk) -> None:
    """Counting fewer than the book says leaves the counted number."""
    told = moving.count(desk, READY, "rack", "9")
    assert "2 bars fewer" in told.said
    assert held(desk, READY)["rack"] == 9


def test_an_ingredient_lot_is_counted_by_mass(desk: Desk) -> None:
    """A mass with its unit counts an ingredient lot."""
    with desk.ledger.read() as reader:
        lot = reader.ingredient_lots("coconut")[0].lot_code
    moving.count(desk, lot, "store", "1.5 kg")
    with desk.ledger.read() as reader:
        assert reader.ingredient_lots("coconut")[0].left_mg == 1_500_000


def test_a_mistyped_lot_offers_the_near_one(desk: Desk) -> None:
    """A wrong check character is refused and the likeliest lot offered."""
    with pytest.raises(BadInput) as told:
        read_lot(desk, "DRF-26241-AX")
    assert READY in told.value.hint


def test_an_ingredient_lot_is_no_batch(desk: Desk) -> None:
    """An ingredient lot cannot be released."""
    with desk.ledger.read() as reader:
        lot = reader.ingredient_lots("coconut")[0].lot_code
    with pytest.raises(NotFound, match="not a batch"):
        moving.decide(desk, lot, "release", "x")
