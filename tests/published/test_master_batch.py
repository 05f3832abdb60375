"""The maker's rule of three: scale the lye by the fat.

Source: common practice, no source.
"""

from __future__ import annotations

from decimal import Decimal

import pytest

from soapstock.recipes.recipe import parse_recipe
from soapstock.recipes.scaling import Target, scale

FATS = """
[[fats]]
fat = "mutton-tallow"
mass = "1528 g"
[lye]
naoh_assay_percent = 98
"""
# The notebook's 401 g may be dry NaOH or, likelier, the whole solution; both scale alike.
AS_SOLUTION = 'code = "AA"\nname = "x"\n[as_written]\nnaoh = "134 g"\nwater = "267 g"\n' + FATS
AS_DRY_LYE = 'code = "AA"\nname = "x"\n[as_written]\nnaoh = "401 g"\nwater = "802 g"\n' + FATS


def test_401_g_of_lye_for_1528_g_of_fat_is_333_g_for_1269_g() -> None:
    """401 x 1269 / 1528 = 333.03: the dry lye scales to 333 g."""
    batch = scale(parse_recipe(AS_DRY_LYE, "m"), Target(have=("tallow", Decimal(1269))))
    assert batch.naoh_g == Decimal(333)


def test_the_same_figure_as_a_solution_scales_to_333_g() -> None:
    """134 g NaOH in 267 g water: 111 + 222."""
    batch = scale(parse_recipe(AS_SOLUTION, "m"), Target(have=("tallow", Decimal(1269))))
    assert batch.naoh_g + batch.water_g == Decimal(333)


@pytest.mark.parametrize(("text", "word"), [(AS_DRY_LYE, "refuse"), (AS_SOLUTION, "check")])
def test_a_scaled_master_is_judged_as_well(text: str, word: str) -> None:
    """401 g of dry lye on 1528 g of fat would burn; 134 g leaves over a third of the fat."""
    batch = scale(parse_recipe(text, "m"), Target(have=("tallow", Decimal(1269))))
    assert batch.verdict.word == word
    assert batch.naoh_should_be_g is not None
    # 1269 x 195 x 0.712888 / 1000 x 0.95 / 0.98
    assert float(batch.naoh_should_be_g) == pytest.approx(171, abs=1)
