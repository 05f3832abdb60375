"""Shares of an amount."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from soapstock.money.share import apportion, up_to

CENTS = st.integers(min_value=0, max_value=10**9)
WEIGHTS = st.lists(st.integers(min_value=0, max_value=10**7), min_size=1).filter(any)


@given(CENTS, WEIGHTS)
def test_shares_add_up_and_are_within_a_cent(cents: int, weights: list[int]) -> None:
    """Nothing is lost, and no share is a whole cent off its exact part."""
    shares = apportion(cents, weights)
    assert sum(shares) == cents
    for share, weight in zip(shares, weights, strict=True):
        assert abs(share - Fraction(cents * weight, sum(weights))) < 1


def test_the_largest_remainders_get_the_odd_cents() -> None:
    """100 seats by 47, 16, 15.8, 12, 6.1 and 3.1 thousand votes over 10: 5, 2, 1, 1, 1, 0.

    The usual classroom example of Hare's largest-remainder method (votes 47 000, 16 000, 15 800,
    12 000, 6 100, 3 100; ten seats), from memory.
    """
    assert apportion(10, [47_000, 16_000, 15_800, 12_000, 6_100, 3_100]) == [5, 2, 1, 1, 1, 0]


@pytest.mark.parametrize("weights", [[], [0, 0], [2, -1]])
def test_weights_that_share_nothing_are_refused(weights: list[int]) -> None:
    """A caller's mistake."""
    with pytest.raises(ValueError, match="weights"):
        apportion(1, weights)


@given(CENTS, st.integers(min_value=1, max_value=10**6), st.data())
def test_pieces_in_a_row_carry_within_a_cent_of_their_part(
    cents: int, whole: int, data: st.DataObject
) -> None:
    """Wherever a run of pieces begins and ends."""
    first = data.draw(st.integers(min_value=0, max_value=whole))
    last = data.draw(st.integers(min_value=first, max_value=whole))
    carried = up_to(cents, last, whole) - up_to(cents, first, whole)
    assert abs(carried - Fraction(cents * (last - first), whole)) <= 1
    assert up_to(cents, whole, whole) == cents
