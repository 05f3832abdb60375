"""The table of fats."""

from __future__ import annotations

import pytest

from soapstock.chemistry.fats import all_fats, get_fat
from soapstock.chemistry.profiles import profiles_of
from soapstock.errors import NotFound


def test_there_are_at_least_45_fats() -> None:
    """A maker finds what stands in the store."""
    assert len(all_fats()) >= 45


@pytest.mark.parametrize("key", sorted(all_fats()))
def test_every_fat_has_names_and_a_sourced_sv(key: str) -> None:
    """No figure without a source and a confidence; exactly one range is chosen, with a reason."""
    fat = all_fats()[key]
    assert fat.trade_name
    assert fat.inci
    assert fat.inci_us
    assert 80 < fat.sv.low <= fat.sv.high < 300
    chosen = [row for row in fat.sv_ranges if row.chosen]
    assert len(chosen) == 1
    assert chosen[0].why
    for row in (*fat.sv_ranges, *fat.figures):
        assert row.source
        assert row.confidence in {"read", "memory", "weak", "derived"}


@pytest.mark.parametrize("key", sorted(all_fats()))
def test_keys_are_hyphened_small_letters(key: str) -> None:
    """Keys can be typed without quotes."""
    assert key == key.lower()
    assert key.replace("-", "").isalpha()


def test_an_unknown_fat_brings_the_nearest_keys() -> None:
    """A mistyped key is mended from the hint."""
    with pytest.raises(NotFound) as caught:
        get_fat("talow-beef")
    assert "beef-tallow" in caught.value.hint


@pytest.mark.parametrize(
    ("said", "key"), [("flax", "linseed"), ("corn oil", "maize"), ("Shea butter", "shea")]
)
def test_a_trade_name_leads_to_its_key(said: str, key: str) -> None:
    """Other names of the trade are known."""
    with pytest.raises(NotFound) as caught:
        get_fat(said)
    assert key in caught.value.hint


def test_a_salt_missing_from_the_inventory_is_none() -> None:
    """A label then lists the fat and the hydroxide (names file, European notes 5.1)."""
    assert get_fat("rice-bran").sodium_salt is None
    assert get_fat("lard").potassium_salt is None


@pytest.mark.parametrize(
    ("key", "salt"),
    [
        ("avocado", "Sodium Avocadoate"),
        ("sunflower", "Sodium Sunflowerseedate"),
        ("grapeseed", "Sodium Grapeseedate"),
        ("almond", "Sodium Sweet Almondate"),
        ("cocoa-butter", "Sodium Cocoa Butterate"),
        ("castor", "Sodium Castorate"),
    ],
)
def test_salts_with_odd_names_are_as_the_inventory_has_them(key: str, salt: str) -> None:
    """Names a pattern would get wrong. Source: CosIng ingredient inventory export, 2026."""
    assert get_fat(key).sodium_salt == salt


def test_at_least_45_fats_are_known_whole() -> None:
    """SV, iodine value, unsaponifiable matter, melting range, profile and label name."""
    figures = ("iodine_value", "unsaponifiable", "melting_range")
    whole = [
        fat.key
        for fat in all_fats().values()
        if fat.inci and all(fat.figure(name) for name in figures) and profiles_of(fat.key)
    ]
    assert len(whole) >= 45
