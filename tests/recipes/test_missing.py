"""A fat left off the page."""

from __future__ import annotations

from decimal import Decimal

import pytest

from soapstock.chemistry.fats import get_fat
from soapstock.chemistry.interval import Interval
from soapstock.chemistry.lye import FatPortion, Lye, Verdict
from soapstock.errors import RuleBroken
from soapstock.recipes.missing import fat_asked_g, with_missing_fat
from soapstock.recipes.pour import judge_pour
from soapstock.recipes.recipe import parse_recipe
from soapstock.recipes.weighed import ActualMasses
from soapstock.recipes.weighing import refuse_slips

PURE = Interval.exact(100.0)
OLIVE = FatPortion(fat="olive", mass_g=1000.0, sv=Interval.exact(190.0))
BURNS = Verdict(word="refuse", reasons=("burns",))


def lye(naoh_g: float) -> Lye:
    """Pure NaOH, g."""
    return Lye(naoh_g=naoh_g, naoh_assay_percent=PURE, koh_assay_percent=PURE)


def test_the_lye_says_how_much_fat_is_missing() -> None:
    """By hand: 250 g NaOH / 39.9968 / 0.95 = 6.5795 mol; 190 / 56.1053 x 1000 g = 3.3865 mol there.

    3.1930 mol are 179.14 g KOH: 676 g of fat at 265 mg KOH/g (coconut), 1119.6 g at 160 (shea).
    """
    asked = fat_asked_g([OLIVE], lye(250.0), 5.0)
    assert asked is not None
    assert asked.least_g == pytest.approx(676.0, abs=0.5)
    assert asked.most_g == pytest.approx(1119.6, abs=0.5)
    assert "oconut" in asked.richest
    assert "Shea" in asked.poorest


@pytest.mark.parametrize("sv", [265.0, 200.0, 160.0])
def test_so_much_fat_gives_the_superfat_meant(sv: float) -> None:
    """Adding any fat of the tables, the mass lies in the range that was said."""
    asked = fat_asked_g([OLIVE], lye(250.0), 5.0)
    assert asked is not None
    added_g = (250.0 / 39.9968 / 0.95 - 190.0 / 56.1053) * 56105.3 / sv
    assert asked.least_g - 0.1 <= added_g <= asked.most_g + 0.1


def test_nothing_is_asked_when_the_fats_take_the_lye() -> None:
    """5 % superfat of 1 kg olive oil: 128.7 g NaOH."""
    assert fat_asked_g([OLIVE], lye(128.0), 5.0) is None
    assert with_missing_fat(BURNS, [OLIVE], lye(128.0), 5.0) == BURNS


@pytest.mark.parametrize(("naoh_g", "asked"), [(150.0, False), (170.0, True)])
def test_only_much_too_much_lye_asks_for_a_fat(naoh_g: float, asked: bool) -> None:
    """A slip of the scale (-11 %) is not asked about, a page without its fats (-25 %) is."""
    reasons = with_missing_fat(BURNS, [OLIVE], lye(naoh_g), 5.0).reasons
    assert any("is a fat missing here?" in reason for reason in reasons) is asked


def test_a_refused_pour_asks_too(notebook_text: str) -> None:
    """The page with its coconut left out, poured as it stands: the fat is asked for."""
    recipe = parse_recipe(
        notebook_text.replace('[[fats]]\nfat = "coconut"\nmass = "600 g"\n', ""), "page"
    )
    tallow = FatPortion(fat="beef-tallow", mass_g=900.0, sv=get_fat("beef-tallow").sv)
    pot = ActualMasses(fats=(tallow,), naoh_g=226.0, koh_g=0.0, water_g=452.0)
    judged = judge_pour(recipe, pot, None, scale_step_g=Decimal(1))
    with pytest.raises(RuleBroken, match="burn skin; is a fat missing here"):
        refuse_slips(judged, record_anyway="", sure=False)
