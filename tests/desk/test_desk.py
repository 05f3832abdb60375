"""The desk: stamps, lots and recipes found by what people type."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from soapstock.chemistry.fats import own_fats
from soapstock.desk.desk import Desk, open_desk
from soapstock.desk.finding import find_recipe, parsed_recipe, read_lot
from soapstock.enter.receive import receive
from soapstock.enter.recipe import add_recipe
from soapstock.errors import BadInput, NotFound


def test_a_stamp_says_when_and_by_whom(desk: Desk) -> None:
    """When it happened, when it was entered, by whom."""
    stamp = desk.stamp(date(2026, 11, 1), "late entry")
    assert (stamp.happened_on, stamp.entered_at, stamp.by) == (
        date(2026, 11, 1),
        desk.now,
        "tester",
    )
    assert stamp.note == "late entry"


def test_the_future_is_refused(desk: Desk) -> None:
    """Nothing has happened tomorrow."""
    with pytest.raises(BadInput, match="future"):
        desk.stamp(date(2026, 11, 21))


def test_an_entry_needs_a_person(desk: Desk) -> None:
    """A blank name is nobody."""
    with pytest.raises(BadInput, match="nobody"):
        replace(desk, by="  ").stamp()


def test_an_unknown_lot_offers_near_ones(desk: Desk) -> None:
    """A well-formed code that is not here offers the likeliest."""
    from soapstock.codes.lot import make_lot_code

    other = make_lot_code("DRF", date(2026, 8, 28), "A")
    with pytest.raises(NotFound) as told:
        read_lot(desk, other)
    assert "DRF-26241-AZ" in told.value.hint


@pytest.mark.parametrize("typed", ["eel-26290", "EEL 26290A", "eel2629"])
def test_a_beginning_that_one_lot_has_is_that_lot(desk: Desk, typed: str) -> None:
    """In any case, with or without hyphens."""
    assert read_lot(desk, typed, kind="batch") == "EEL26290AT"


def test_a_beginning_that_several_lots_have_lists_them(desk: Desk) -> None:
    """No lot is chosen for the maker."""
    with pytest.raises(BadInput, match="begins") as told:
        read_lot(desk, "DRF26")
    assert "DRF-26241-AZ" in told.value.hint
    assert "DRF-26273-AY" in told.value.hint


@pytest.mark.parametrize("typed", ["EEL26290AX", "EEL", "E2629", "EEL26290ATT", "EEL26291"])
def test_what_is_no_beginning_is_never_completed(desk: Desk, typed: str) -> None:
    """A wrong check character stays wrong, and a product alone names no lot."""
    with pytest.raises((BadInput, NotFound)):
        read_lot(desk, typed)


def test_a_beginning_is_looked_for_among_lots_of_the_kind_asked(desk: Desk) -> None:
    """An ingredient's lot is no batch, however it begins."""
    with pytest.raises((BadInput, NotFound)):
        read_lot(desk, "BEE-26230", kind="batch")
    assert read_lot(desk, "BEE-26230", kind="ingredient") == "BEE26230AC"


def test_a_recipe_is_found_in_any_case(desk: Desk) -> None:
    """Codes are read without regard to case or spaces."""
    with desk.ledger.read() as reader:
        recipe, version = find_recipe(reader, " drf ")
    assert (recipe.code, version) == ("DRF", 1)


def test_an_unknown_recipe_lists_those_here(desk: Desk) -> None:
    """The hint names the codes of the shop."""
    with desk.ledger.read() as reader, pytest.raises(NotFound) as told:
        find_recipe(reader, "XYZ")
    assert "DRF" in told.value.hint


SEAL = """
[[fats]]
key = "seal-fat"
name = "Seal fat"
inci = "Seal Fat"
sv_low = 185
sv_high = 195
source = "own titration"
"""
SEAL_BAR = """
code = "SEA"
name = "Seal"
superfat_percent = 5
water = "2 per lye"

[[fats]]
fat = "seal-fat"
share_percent = 100
"""


def test_two_open_shops_do_not_see_each_others_fats(new_shop: Path, demo_shop: Path) -> None:
    """A fat of one shop's own is none of another's, whichever was worked in last."""
    (new_shop / "fats.toml").write_text(SEAL, encoding="utf-8")
    days = {"today": date(2026, 11, 20), "now": datetime(2026, 11, 20, 12, tzinfo=UTC), "by": "t"}
    with open_desk(new_shop, **days) as mine, open_desk(demo_shop, **days) as theirs:
        for _ in range(2):
            receive(mine, "seal-fat", "1 kg", supplier="hunter", sure=True)
            with pytest.raises(NotFound, match="seal-fat"):
                receive(theirs, "seal-fat", "1 kg", supplier="hunter")
        (mine.shop.folder / "seal.toml").write_text(SEAL_BAR, encoding="utf-8")
        assert add_recipe(mine, mine.shop.folder / "seal.toml").code == "SEA"
        with theirs.reading(), pytest.raises(BadInput, match="seal-fat"):
            parsed_recipe(SEAL_BAR, str(mine.shop.folder / "seal.toml"))
    assert own_fats() == ()
