"""A shop's own fats."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

import pytest

from soapstock.chemistry.composition import composition_at_pour
from soapstock.chemistry.fats import get_fat, use_own_fats
from soapstock.chemistry.interval import Interval
from soapstock.chemistry.lye import FatPortion, Lye
from soapstock.errors import BadInput, NotFound
from soapstock.recipes.own_fats import read_own_fats
from soapstock.recipes.recipe import parse_recipe
from soapstock.recipes.scaling import Target, scale

TEXT = """\
[[fats]]
key = "emu"
name = "Emu oil"
inci = "Emu Oil"
sv_low = 185
sv_high = 200
source = "supplier paper"
"""


@pytest.fixture(autouse=True)
def _tables_alone_after() -> Iterator[None]:
    """Own fats of one test stay in it."""
    yield
    use_own_fats(())


def test_an_own_fat_works_like_any_other(rule_text: str) -> None:
    """In a recipe, by its own SV."""
    use_own_fats(read_own_fats(TEXT, "fats.toml"))
    recipe = parse_recipe(rule_text.replace('"olive"', '"emu"'), "r")
    batch = scale(recipe, Target(total_fat_g=Decimal(1000)))
    assert batch.fats[1].name == "Emu oil"
    assert get_fat("emu").sv.nominal == 192.5
    assert get_fat("emu").sv_confidence == "shop"


def test_own_tallow_with_its_acid_and_water_replaces_the_tables() -> None:
    """Free acid makes water and no glycerol; water in the fat is water in the pot."""
    text = TEXT.replace('"emu"', '"beef-tallow"') + "acid_value = 2.0\nmoisture_percent = 0.5\n"
    portion = FatPortion(fat="beef-tallow", mass_g=1000.0, sv=Interval.exact(192.5))
    sure = Interval.exact(100.0)
    lye = Lye(naoh_g=130.0, naoh_assay_percent=sure, koh_assay_percent=sure)
    plain = composition_at_pour([portion], lye, 260.0)
    use_own_fats(read_own_fats(text, "fats.toml"))
    own = composition_at_pour([portion], lye, 260.0)
    assert own.water_g == pytest.approx(
        260.0 + 5.0 + 1000 * 2.0 / 1000 / 56.1053 * 18.015, rel=1e-4
    )
    assert own.glycerol_g < plain.glycerol_g
    assert own.total_g == pytest.approx(plain.total_g, rel=1e-12)


def test_without_the_file_the_fat_is_unknown() -> None:
    """The tables alone do not have it."""
    with pytest.raises(NotFound):
        get_fat("emu")


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ('"emu"', '"Emu 1"', r"fats\.toml:2: fats\[1\]\.key"),
        ("sv_low = 185", "sv_low = 18.5", r"fats\.toml:5: fats\[1\]\.sv_low"),
        ("sv_low = 185", "sv_low = 201", "below sv_low"),
        ("sv_low = 185", "sv_low = 197", "narrower than two laboratories"),
        ('source = "supplier paper"', "", "source: is missing"),
        ("sv_low = 185", "sv_lo = 185", "did you mean|unknown field"),
        ("[[fats]]", "[fats]", "not a list"),
    ],
)
def test_faults_name_line_and_field(old: str, new: str, says: str) -> None:
    """A wrong SV would burn: nothing is guessed."""
    with pytest.raises(BadInput, match=says):
        read_own_fats(TEXT.replace(old, new), "fats.toml")


def test_a_key_may_stand_only_once() -> None:
    """Which of two figures would count?"""
    with pytest.raises(BadInput, match="twice"):
        read_own_fats(TEXT + TEXT, "fats.toml")
