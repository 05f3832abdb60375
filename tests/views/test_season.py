"""A span of days."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

import pytest

from soapstock.desk.desk import Desk
from soapstock.enter.money import Terms, charge, spend
from soapstock.enter.move import give, waste
from soapstock.enter.receive import receive
from soapstock.errors import BadInput
from soapstock.views.season import Season, season
from tests.desks import moneyless as desk
from tests.views.test_cost import READY, counting

__all__ = ["desk"]

FIRST, LAST = date(2026, 8, 1), date(2026, 11, 20)
SOLD = {77: 4, 81: 6, 92: 3, 115: 5}  # the demo's shipments


@pytest.fixture
def sold(desk: Desk) -> Desk:
    """The demo, with a price for all it sold, and costs for its own fat."""
    for entry in SOLD:
        charge(desk, entry, Terms(price="7.50", tax="0.10"))
    return counting(
        desk, own_fat="bought", fat_kg={"beef-tallow": Decimal(6), "mutton-tallow": Decimal(5)}
    )


def bars(told: Season) -> dict[str, int]:
    """Bars by way."""
    return {row.way: row.bars for row in told.bars}


def test_the_demos_season_adds_up(sold: Desk) -> None:
    """Good bars are sold, wasted, kept or here, and what they brought in is counted by hand."""
    told = season(sold, FIRST, LAST)
    by_way = bars(told)
    assert (told.batches, told.ready) == (17, 5)
    assert by_way["sold"] == sum(SOLD.values())
    assert by_way["out of the mould, good"] == sum(
        by_way[way] for way in ("sold", "given", "wasted", "kept back, in all", "here at the end")
    )
    assert told.income == Decimal("7.50") * 18
    assert told.tax == Decimal("0.40")
    assert told.gap_cents == 0
    assert told.unknown == ()


def test_all_that_was_paid_is_somewhere(sold: Desk) -> None:
    """Receipts and own fat in cents: what is gone, what is kept and what is here."""
    told = season(sold, FIRST, LAST)
    with sold.ledger.read() as reader:
        paid = sum(lot.cost_cents or 0 for lot in reader.ingredient_lots())
    own = 600 * Decimal("19.9") + 500 * Decimal("5.4")
    gone = sum(row.cost or 0 for row in told.bars if row.way in ("sold", "given", "wasted"))
    kept = next(row.cost or 0 for row in told.bars if row.way.startswith("kept"))
    assert 100 * (gone + kept + sum(row.value for row in told.stock)) == paid + own


def test_two_halves_are_the_whole(sold: Desk) -> None:
    """Whatever day one cuts at, nothing is counted twice or left out."""
    whole = season(sold, FIRST, LAST)
    for day in (date(2026, 9, 30), date(2026, 10, 14), date(2026, 11, 2)):
        one, other = season(sold, FIRST, day), season(sold, day + timedelta(days=1), LAST)
        for way in ("out of the mould, good", "sold", "given", "wasted"):
            assert bars(one)[way] + bars(other)[way] == bars(whole)[way]
        assert one.income + other.income == whole.income
        assert one.batches + other.batches == whole.batches
        assert one.ready + other.ready == whole.ready
        assert one.gap_cents == other.gap_cents == 0


def test_sales_by_month_and_state(sold: Desk) -> None:
    """As the demo's events say."""
    rows = [(r.month, r.place, r.bars, r.goods) for r in season(sold, FIRST, LAST).months]
    assert rows == [
        ("2026-10", "ME", 9, Decimal("67.50")),
        ("2026-10", "VT", 4, Decimal("30.00")),
        ("2026-11", "NH", 5, Decimal("37.50")),
    ]


def test_margin_is_less_what_was_spent_on_the_shop(sold: Desk) -> None:
    """A stall's fee is no cost of a bar, but of the season."""
    before = season(sold, FIRST, LAST)
    spend(sold, "-", "fees", "25.00")
    after = season(sold, FIRST, LAST)
    assert before.margin - after.margin == after.selling == Decimal("25.00")
    assert after.stock == before.stock


def test_gifts_and_breakage_are_told(sold: Desk) -> None:
    """By age, and by whether they stood packed."""
    give(sold, READY, 2, "gift", from_place="rack")
    waste(sold, READY, "1", "dropped", from_place="shelf")
    told = season(sold, FIRST, LAST)
    assert bars(told)["given"] == 2
    stood = {(row.age, row.stood): row.bars for row in told.breakage}
    assert stood == {("4 to 12 weeks", "packed, on a shelf"): 1, ("4 to 12 weeks", "not packed"): 1}


def test_each_animals_account(sold: Desk) -> None:
    """Bars, shared by mass of animal fat, are all bars; fat that was not poured is still here."""
    told = season(sold, FIRST, LAST)
    rows = {row.animal: row for row in told.animals}
    steer = rows["own steer 14"]
    assert (round(steer.raw_kg, 3), round(steer.fat_kg, 3)) == (19.4, 13.9)
    assert round(sum(row.bars for row in rows.values()), 6) == 304
    assert round(sum(row.income_cents for row in rows.values())) == 13500
    with sold.ledger.read() as reader:
        for lot in reader.ingredient_lots():
            if lot.animal:
                left = rows[lot.animal].fat_kg - rows[lot.animal].poured_kg
                assert left == pytest.approx(float(lot.left_g) / 1000)
    for row in rows.values():
        assert row.bars == pytest.approx(row.sold + row.given + row.wasted + row.kept + row.on_hand)


def test_best_and_worst_batch(sold: Desk) -> None:
    """By what a sold bar earned."""
    told = season(sold, FIRST, LAST)
    assert told.best is not None
    assert told.worst is not None
    assert told.best.margin_a_bar >= told.worst.margin_a_bar


def test_stock_on_an_earlier_day(sold: Desk) -> None:
    """What came in later is not there yet."""
    then = season(sold, FIRST, date(2026, 8, 20)).stock
    assert [(row.what, row.lots) for row in then] == [
        ("ingredients", 2),
        ("in the mould", 0),
        ("bars", 0),
    ]
    assert then[0].value == 6 * Decimal("13.9") + 5 * Decimal("5.4")
    receive(sold, "lard", "1 kg", supplier="Invented Farm", cost="3.00")
    assert season(sold, FIRST, date(2026, 8, 20)).stock == then


@pytest.mark.parametrize(("first", "last"), [(LAST, FIRST), (FIRST, date(2026, 11, 21))])
def test_a_span_that_cannot_be_is_refused(desk: Desk, first: date, last: date) -> None:
    """Backwards, or in the future."""
    with pytest.raises(BadInput):
        season(desk, first, last)


def test_an_empty_shop_has_an_empty_season(empty: Desk) -> None:
    """Nothing fails."""
    told = season(empty, FIRST, LAST)
    assert (told.income, told.best, told.animals, told.gap_cents) == (0, None, (), 0)
