"""How a shop's settings count its own fat, and how they are read."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest

from soapstock.errors import BadInput
from soapstock.money.costs import Animal, Costs, OwnLot, in_cents, value_own
from soapstock.shop import SHOP_FILE, Shop, load_shop, shop_text

SET = Costs(
    own_fat="animal",
    fat_kg={"raw-beef-tallow": Decimal("2.20"), "lard": Decimal(4)},
    animals={'own "Rose" 3': Animal(cost=Decimal("812.50"), percent=Decimal("2.5"))},
    hour=Decimal("18.00"),
    minutes_bar=Decimal("1.5"),
    packing_bar=Decimal("0.28"),
    kept_carry=True,
)


def own(number: int, raw_mg: int, animal: str = "a") -> OwnLot:
    """A lot of raw fat."""
    return OwnLot(id=number, ingredient="lard", mass_mg=raw_mg, raw_mg=raw_mg, animal=animal)


def test_an_animals_share_is_spread_by_mass_without_losing_a_cent() -> None:
    """3 % of 333.33 is 10.00; over one and two kilograms 3.33 and 6.67."""
    costs = Costs(
        own_fat="animal", animals={"a": Animal(cost=Decimal("333.33"), percent=Decimal(3))}
    )
    assert value_own(costs, [own(1, 1_000_000), own(2, 2_000_000)]) == {1: 333, 2: 667}


def test_an_animal_nobody_priced_is_not_known() -> None:
    """It is None, not nothing."""
    assert value_own(Costs(own_fat="animal"), [own(1, 5)]) == {1: None}
    assert value_own(Costs(), [own(1, 5)]) == {1: None}


@pytest.mark.parametrize(("value", "cents"), [("0.125", 12), ("0.135", 14), ("2.5", 250)])
def test_half_a_cent_goes_to_even(value: str, cents: int) -> None:
    """As DESIGN says of money."""
    assert in_cents(Decimal(value)) == cents


@pytest.mark.parametrize("costs", [Costs(), SET])
def test_settings_are_read_as_they_are_written(tmp_path: Path, costs: Costs) -> None:
    """A new shop's file says what the shop is."""
    shop = Shop(folder=tmp_path, maker="M", costs=costs)
    (tmp_path / SHOP_FILE).write_text(shop_text(shop), encoding="utf-8")
    assert load_shop(tmp_path).costs == costs


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ('[costs]\nown_fat = "free"', "own_fat: 'free' is not one of"),
        ("[costs]\nhour = -1", "hour: -1 is not between"),
        ('[costs]\nhour = "18"', "hour: '18' is not a number"),
        ("[costs]\nhours = 1", "did you mean hour"),
        ("[costs.animals.a]\ncost = 1\npercent = 101", "101 is not between"),
        ("[costs.fat_kg]\nlard = true", "lard: 'True' is not a number"),
        ("[costs]\nfat_kg = 3", "fat_kg is not a table"),
    ],
)
def test_a_wrong_setting_is_told(tmp_path: Path, text: str, words: str) -> None:
    """One line with the field."""
    (tmp_path / SHOP_FILE).write_text(f'maker = "M"\n{text}\n', encoding="utf-8")
    with pytest.raises(BadInput) as told:
        load_shop(tmp_path)
    assert words in f"{told.value.message} {told.value.hint}"
