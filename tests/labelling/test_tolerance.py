"""Tolerances of single packages; the tables' rows are in tests/published."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from soapstock.errors import BadInput
from soapstock.labelling.tolerance import mav_g, tne_g


@given(st.decimals(min_value="5", max_value="9999", places=1))
def test_tne_never_shrinks_as_the_quantity_grows(grams: Decimal) -> None:
    """A heavier bar is never given less room."""
    assert tne_g(grams + 1, "eu").g >= tne_g(grams, "eu").g


@given(st.decimals(min_value="37", max_value="24000", places=1))
def test_mav_never_shrinks_as_the_label_grows(grams: Decimal) -> None:
    """A heavier label never has a smaller MAV."""
    assert mav_g(grams + 1).g >= mav_g(grams).g


@pytest.mark.parametrize("grams", ["0", "-1", "NaN"])
def test_a_label_that_is_not_above_zero_is_refused(grams: str) -> None:
    """There is no tolerance of nothing."""
    with pytest.raises(BadInput):
        mav_g(Decimal(grams))


def test_a_tolerance_says_its_row() -> None:
    """The record can show why."""
    assert "0.26 lb" in mav_g(Decimal(113)).because
    assert "5.085 g" in tne_g(Decimal(113), "eu").because
