"""The maker's rule of three: scale the lye by the one fat that is weighed.

Source: common practice, no source. The page names one fat, its lye (dry, beside the water it goes
into) and no other fat: it leaves fats out, which the lye itself shows.
"""

from __future__ import annotations

from decimal import Decimal

import pytest

from soapstock.recipes.recipe import parse_recipe
from soapstock.recipes.scaling import ScaledBatch, Target, scale

PAGE = """
code = "AA"
name = "x"
[[fats]]
fat = "mutton-tallow"
mass = "1528 g"
[lye]
naoh_assay_percent = 98
[as_written]
naoh = "401 g"
water = "966 g"
"""


@pytest.fixture
def batch() -> ScaledBatch:
    """The page scaled to 1269 g of its fat."""
    return scale(parse_recipe(PAGE, "page"), Target(have=("tallow", Decimal(1269))))


def test_401_g_of_lye_for_1528_g_of_fat_is_333_g_for_1269_g(batch: ScaledBatch) -> None:
    """401 x 1269 / 1528 = 333.03."""
    assert batch.naoh_g == Decimal(333)


def test_the_page_is_refused_and_asks_for_the_fats_it_leaves_out(batch: ScaledBatch) -> None:
    """333 g of dry lye on 1269 g of tallow alone would burn: other fat belongs in the pot.

    By hand: 333 x 0.98 / 39.9968 / 0.95 = 8.589 mol wanted, 1269 x 195 / 56105.3 = 4.411 mol there;
    4.178 mol are 234.4 g KOH: 885 g of fat at 265 mg KOH/g, 1465 g at 160.
    """
    assert batch.verdict.word == "refuse"
    assert batch.naoh_should_be_g is not None
    # 1269 x 195 x 0.712888 / 1000 x 0.95 / 0.98
    assert float(batch.naoh_should_be_g) == pytest.approx(171, abs=1)
    asked = next(reason for reason in batch.verdict.reasons if "is a fat missing" in reason)
    assert "884 g" in asked or "885 g" in asked
    assert "1465 g" in asked
