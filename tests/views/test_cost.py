"""What the demo's batches cost."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from soapstock.desk.desk import Desk
from soapstock.enter.kettle import render
from soapstock.enter.money import spend
from soapstock.enter.move import retain
from soapstock.enter.receive import receive
from soapstock.errors import BadInput
from soapstock.money.costs import Animal, Costs
from soapstock.views.cost import bar_costs, cost_of, cost_row
from tests.desks import moneyless as desk

__all__ = ["desk"]

READY = "DRF-26241-AZ"
ITS_TALLOW = "BEE-26230-AC"


def counting(desk: Desk, **costs: object) -> Desk:
    """The desk of a shop that counts costs so."""
    return replace(desk, shop=replace(desk.shop, costs=Costs(**costs)))  # type: ignore[arg-type]


def test_a_batch_costs_its_share_of_each_lot(desk: Desk) -> None:
    """529 g of 10 kg of coconut for 61.50 cost 3.25; own tallow has no cost and is named."""
    record = cost_row(cost_of(desk, READY))
    coconut = next(p for p in record.parts if p.ingredient == "coconut")
    assert coconut.cost == (Decimal("61.50") * (coconut.used_g or 0) / 10_000).quantize(
        Decimal("0.01")
    )
    assert record.unknown == (f"beef-tallow {ITS_TALLOW}",)
    assert next(p.cost for p in record.parts if p.ingredient == "beef-tallow") is None


def test_work_and_packing_are_carried_by_the_good_bars(desk: Desk) -> None:
    """Of 22 bars one is kept back as a sample: 21 share 21.00 more, one more each."""
    bare = cost_of(desk, READY).per_piece
    spend(desk, READY, "packing", "6.00")
    spend(desk, READY, "work", "60")
    more = cost_of(counting(desk, hour=Decimal(15)), READY).per_piece
    assert bare is not None
    assert more is not None
    assert more - bare == Decimal(1)


def test_what_is_on_record_takes_the_place_of_the_setting(desk: Desk) -> None:
    """Packing set at 0.50 a bar is 11.00 for 22 bars, until 4.20 is written down for them."""
    set_so = counting(desk, packing_bar=Decimal("0.50"))
    before = cost_of(set_so, READY).cents
    spend(set_so, READY, "packing", "4.20")
    assert cost_of(set_so, READY).cents == before - 1100 + 420


def test_a_bar_kept_back_carries_no_cost(desk: Desk) -> None:
    """One more kept back leaves one less to share the cost (common practice, no source)."""
    before = cost_of(desk, READY)
    retain(desk, READY, 1, from_place="rack")
    assert cost_of(desk, READY).pieces == before.pieces - 1
    assert cost_of(counting(desk, kept_carry=True), READY).pieces == 22


def test_a_batch_in_its_mould_has_no_cost_a_bar(desk: Desk) -> None:
    """Without bars there is no cost a bar."""
    assert cost_row(cost_of(desk, "SAM-26323-AN")).per_bar is None


def test_the_cost_of_raw_fat_goes_through_the_kettle(desk: Desk) -> None:
    """Raw fat for 12.00, all of it rendered with 1.50 of gas, is tallow for 13.50."""
    raw = receive(desk, "raw-lard", "3 kg", supplier="Invented Farm", cost="12.00").lot_code
    fat = render(desk, "lard", "2 kg", [f"{raw}=3kg"]).lot_code
    assert fat is not None
    spend(desk, fat, "energy", "1.50")
    sheet = cost_of(desk, fat)
    assert (sheet.cents, sheet.per_piece, sheet.unknown) == (1350, Decimal("6.75"), ())


@pytest.mark.parametrize(
    ("costs", "cents"),
    [
        ({"own_fat": "nothing"}, 0),
        ({"own_fat": "bought", "fat_kg": {"beef-tallow": Decimal("9.00")}}, 12510),
        ({"own_fat": "sold", "fat_kg": {"beef-tallow": Decimal("2.00")}}, 2780),
        (
            {
                "own_fat": "animal",
                "animals": {"own steer 14": Animal(cost=Decimal(1450), percent=Decimal(2))},
            },
            2900,
        ),
    ],
)
def test_own_fat_counts_as_the_shop_says(desk: Desk, costs: dict[str, object], cents: int) -> None:
    """13.9 kg of steer 14: nothing, 9.00 a kg, 2.00 a kg, or 2 % of an animal of 1450.00."""
    sheet = cost_of(counting(desk, **costs), ITS_TALLOW)
    assert (sheet.cents, sheet.unknown) == (cents, ())


def test_own_fat_without_its_price_is_named(desk: Desk) -> None:
    """No price a kg for this fat: its cost is not known, not nothing."""
    sheet = cost_of(counting(desk, own_fat="bought"), ITS_TALLOW)
    assert sheet.unknown == (f"beef-tallow {ITS_TALLOW}",)


def test_what_was_paid_in_other_money_is_not_converted(desk: Desk) -> None:
    """A lot paid for in another currency counts for nothing, and is named."""
    abroad = replace(desk, shop=replace(desk.shop, currency="EUR"))
    lot = receive(abroad, "lard", "1 kg", supplier="Invented Farm", cost="8.00").lot_code
    assert lot is not None
    assert (cost_of(desk, lot).cents, len(cost_of(desk, lot).unknown)) == (0, 1)
    assert cost_of(abroad, lot).cents == 800


@pytest.mark.parametrize(("what", "amount"), [("work", "1.5"), ("gas", "3"), ("fees", "x")])
def test_what_cannot_be_spent_is_refused(desk: Desk, what: str, amount: str) -> None:
    """Minutes are whole, money is money, and it goes on something."""
    with pytest.raises(BadInput):
        spend(desk, READY, what, amount)


def test_what_a_bar_of_a_recipe_cost_over_its_batches(desk: Desk) -> None:
    """Only batches of known cost count: none with own fat unsaid, and its sheet's sum with it."""
    with desk.ledger.read() as reader:
        assert "DRF" not in bar_costs(desk, reader)
    here = counting(desk, own_fat="nothing")
    with here.ledger.read() as reader:
        lots = [b.lot_code.shown for b in reader.batches() if b.recipe_code == "EEL"]
    sheets = [cost_of(here, lot) for lot in lots]
    with here.ledger.read() as reader:
        found = bar_costs(here, reader)["EEL"]
    whole = sum(sheet.cents for sheet in sheets) / 100
    assert found == pytest.approx(whole / float(sum(sheet.pieces for sheet in sheets)))
