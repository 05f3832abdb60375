"""One fat swapped for another."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from soapstock.errors import BadInput, NotFound
from soapstock.recipes.blend import lye_weight, substitute

RECIPE = {"beef-tallow": 600.0, "olive": 300.0, "castor": 100.0}
FATS = ["beef-tallow", "mutton-tallow", "lard", "olive", "sunflower", "coconut", "castor", "shea"]


@given(
    masses=st.dictionaries(st.sampled_from(FATS), st.floats(10, 5000), min_size=1, max_size=5),
    into=st.sampled_from(FATS),
    share=st.floats(0.01, 1.0),
)
def test_substitution_keeps_the_lye_demand(
    masses: dict[str, float], into: str, share: float
) -> None:
    """Whatever is swapped, the lye stays."""
    out = next(iter(masses))
    blend = substitute(masses, out, into, share=share)
    assert lye_weight(blend.masses_g) == pytest.approx(lye_weight(masses), rel=1e-12)


def test_a_swap_of_coconut_for_olive_takes_more_olive() -> None:
    """100 g at 256.5 take the lye of 135 g at 190."""
    blend = substitute({"coconut": 100.0}, "coconut", "olive")
    assert blend.masses_g["olive"] == pytest.approx(100 * 256.5 / 190)


@pytest.mark.parametrize(
    ("out", "into", "share", "error"),
    [
        ("lard", "olive", 1.0, BadInput),
        ("olive", "oliv", 1.0, NotFound),
        ("olive", "lard", 0.0, BadInput),
        ("olive", "lard", 1.5, BadInput),
    ],
)
def test_impossible_swaps_are_refused(
    out: str, into: str, share: float, error: type[Exception]
) -> None:
    """A fat not there, a fat unknown, a share of nothing."""
    with pytest.raises(error):
        substitute(RECIPE, out, into, share=share)


def test_the_declaration_order_is_shown_before_and_after() -> None:
    """A label must follow the new order."""
    blend = substitute(RECIPE, "beef-tallow", "olive", share=0.6)
    assert blend.order_before[0] == "beef-tallow"
    assert blend.order_after[0] == "olive"
