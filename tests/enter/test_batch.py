"""Entering facts."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from decimal import Decimal
from pathlib import Path

import pytest

from soapstock.desk.desk import Desk, open_desk
from soapstock.enter import batch, receive
from soapstock.errors import BadInput, RuleBroken
from soapstock.upkeep.demo import DEMO_DAY
from tests.desks import NOW


def lot_of(desk: Desk, code: str) -> object:
    """The ingredient lot by its compact code."""
    with desk.ledger.read() as reader:
        return next(lot for lot in reader.ingredient_lots() if lot.lot_code == code)


@pytest.mark.parametrize(
    ("typed", "span"),
    [
        ("196", (194, 198)),  # the tables' tolerance
        ("196±1", (195, 197)),
        ("196+/-1", (195, 197)),
        ("194-198", (194, 198)),
    ],
)
def test_a_certificate_is_read_in_three_forms(
    empty: Desk, typed: str, span: tuple[float, float]
) -> None:
    """One figure, a figure with its tolerance, or a range."""
    done = receive.receive(empty, "beef-tallow", "1kg", supplier="S", certificate_sv=typed)
    lot = lot_of(empty, done.lot_code)
    assert (lot.sv_low, lot.sv_high) == pytest.approx(span)  # type: ignore[attr-defined]


def test_a_certificate_in_the_other_alkali_is_asked_about(empty: Desk) -> None:
    """183 for coconut is mg NaOH/g: taken as mg KOH/g the lye would be far off."""
    with pytest.raises(RuleBroken, match="in mg NaOH/g would be 256"):
        receive.receive(empty, "coconut", "1kg", supplier="S", certificate_sv="183")


def test_a_certificate_far_from_the_table_is_taken_when_the_maker_is_sure(empty: Desk) -> None:
    """A fat may be odd; nobody but the maker has read its paper."""
    done = receive.receive(empty, "coconut", "1kg", supplier="S", certificate_sv="225", sure=True)
    assert lot_of(empty, done.lot_code).sv_nominal == 225  # type: ignore[attr-defined]


def test_lye_has_no_saponification_value(empty: Desk) -> None:
    """A figure meant for a fat does not stand on another lot."""
    with pytest.raises(BadInput, match="is not a fat"):
        receive.receive(empty, "naoh", "1kg", supplier="S", certificate_sv="196")


def test_rendered_fat_keeps_its_animal_and_yield(empty: Desk) -> None:
    """Own fat names the animal; the yield is told."""
    done = receive.receive(empty, "mutton-tallow", "3kg", animal="ewe 12", raw_fat="4kg")
    assert "75 %" in done.notes[0]
    assert lot_of(empty, done.lot_code).animal == "ewe 12"  # type: ignore[attr-defined]


def test_more_fat_than_went_in_is_refused(empty: Desk) -> None:
    """Rendering cannot gain."""
    with pytest.raises(BadInput, match="cannot be"):
        receive.receive(empty, "mutton-tallow", "5kg", animal="ewe 12", raw_fat="4kg")


def test_two_receipts_of_a_day_get_two_letters(empty: Desk) -> None:
    """Lots of one ingredient and day differ by their letter."""
    a = receive.receive(empty, "coconut", "1kg", supplier="S").lot_code
    b = receive.receive(empty, "coconut", "1kg", supplier="S", sure=True).lot_code
    assert (a[8], b[8]) == ("A", "B")


@pytest.mark.parametrize(("value", "passed"), [("0.1", True), ("0.11", False), ("0.05 %", True)])
def test_a_titration_is_judged_by_its_limit(desk: Desk, value: str, passed: bool) -> None:
    """At most 0.1 % NaOH (SNI 06-3532-1994, and 3532:2016 from memory); exactly 0.1 passes."""
    done = batch.test(desk, "EBB-26285-AZ", "titration", passed=None, value=value)
    assert ("passed" in done.said) is passed


@pytest.mark.parametrize(("value", "passed"), [("10.9", True), ("11", False), ("11.1", False)])
def test_a_ph_passes_only_below_its_limit(desk: Desk, value: str, passed: bool) -> None:
    """Regulation (EC) 1223/2009 Annex III entry 15a(d): pH below 11, so 11 itself fails."""
    done = batch.test(desk, "EBB-26285-AZ", "ph", passed=None, value=value)
    assert ("passed" in done.said) is passed


def test_a_weigh_in_before_unmoulding_is_refused(desk: Desk) -> None:
    """Bars cannot be weighed before they were bars."""
    from datetime import date

    with pytest.raises(RuleBroken, match="before it was unmoulded"):
        batch.weigh(desk, "DRF-26316-AN", 10, "1300g", on=date(2026, 11, 12))


def test_ounces_for_grams_are_caught_at_weighing(desk: Desk) -> None:
    """A weigh-in 28 times too heavy is refused."""
    with pytest.raises(RuleBroken, match="cannot be"):
        batch.weigh(desk, "DRF-26316-AN", 10, "1270 oz")


def test_cost_is_kept_in_cents(empty: Desk) -> None:
    """24.5 is 2450 cents; no float in between."""
    done = receive.receive(empty, "coconut", "1kg", supplier="S", cost="24.5")
    assert lot_of(empty, done.lot_code).cost_cents == 2450  # type: ignore[attr-defined]


def test_bars_heavier_than_the_pour_are_refused(desk: Desk) -> None:
    """The bars of a batch cannot outweigh what was poured."""
    with pytest.raises(RuleBroken, match=r"more than the .* poured"):
        batch.unmould(desk, "SAM-26323-AN", 19, "4 kg")


def test_unmoulding_says_the_mass_of_a_bar(desk: Desk) -> None:
    """A counted sample gives the mean."""
    done = batch.unmould(desk, "SAM-26323-AN", 19, "1330 g", counted=10)
    assert "133.0 g" in done.said
    assert Decimal("133.0") == Decimal(1330) / 10


def test_a_lots_acid_value_and_moisture_reach_the_pour(empty: Desk) -> None:
    """Wet fat takes less lye, and free acid makes no glycerol: both figures are used."""
    from soapstock.views.poured import fat_portion

    done = receive.receive(
        empty, "beef-tallow", "1kg", supplier="S", acid_value=4.0, moisture_percent=2.0
    )
    lot = lot_of(empty, done.lot_code)
    portion = fat_portion("beef-tallow", 500_000, lot)  # type: ignore[arg-type]
    assert (portion.acid_value, portion.moisture_percent) == (4.0, 2.0)
    dry = fat_portion("beef-tallow", 500_000, None)
    assert portion.sv.nominal == pytest.approx(dry.sv.nominal * 0.98)


def test_a_moisture_that_cannot_be_is_refused(empty: Desk) -> None:
    """Half water is no fat."""
    with pytest.raises(BadInput, match="moisture"):
        receive.receive(empty, "beef-tallow", "1kg", supplier="S", moisture_percent=60)


def test_eight_who_receive_at_once_get_eight_lots(demo_shop: Path) -> None:
    """The code is chosen where nobody else can choose: inside the write transaction."""

    def take_in(number: int) -> str:
        with open_desk(demo_shop, today=DEMO_DAY, now=NOW, by=f"maker {number}") as mine:
            return receive.receive(mine, "lard", f"{number + 1}kg", supplier="Invented").lot_code

    with ThreadPoolExecutor(8) as pool:
        lots = list(pool.map(take_in, range(8)))
    assert len(set(lots)) == 8
