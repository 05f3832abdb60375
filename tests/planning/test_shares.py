"""Shares of bars that are short, against the definition of max-min fairness.

Bertsekas and Gallager, Data Networks, 2nd ed., 1992, section 6.5.2, from memory: a division is
max-min fair when no share can grow without making smaller one that is already as small or smaller.
In whole bars a bar may move only from one who has at least two more.
"""

from __future__ import annotations

from itertools import product

from hypothesis import given
from hypothesis import strategies as st

from soapstock.planning.shares import fair_shares, first_come

ASKED = st.lists(st.integers(0, 40), max_size=12)


def whole(asked: list[int], there: int, shares: list[int]) -> None:
    """Nobody gets more than asked for, and no bar is left while somebody lacks one."""
    assert all(0 <= part <= bars for part, bars in zip(shares, asked, strict=True))
    assert sum(shares) == min(there, sum(asked))


@given(asked=ASKED, there=st.integers(0, 200))
def test_no_bar_can_move_to_one_who_has_less(asked: list[int], there: int) -> None:
    """The definition itself, for every pair."""
    shares = fair_shares(asked, there)
    whole(asked, there, shares)
    for mine, bars in zip(shares, asked, strict=True):
        assert mine == bars or all(mine >= theirs - 1 for theirs in shares)


@given(asked=st.lists(st.integers(0, 4), max_size=4), there=st.integers(0, 9))
def test_the_sorted_shares_are_the_largest_of_all_divisions(asked: list[int], there: int) -> None:
    """The same, told otherwise: of every division the worst off has most, then the next."""
    ways = (
        w for w in product(*(range(bars + 1) for bars in asked)) if sum(w) == min(there, sum(asked))
    )
    assert sorted(fair_shares(asked, there)) == max(sorted(way) for way in ways)


@given(asked=ASKED, there=st.integers(0, 200))
def test_of_two_who_ask_alike_the_first_has_no_less(asked: list[int], there: int) -> None:
    """By at most the one bar that cannot be split."""
    shares = fair_shares(asked, there)
    for n, bars in enumerate(asked):
        for later in range(n + 1, len(asked)):
            if asked[later] == bars:
                assert 0 <= shares[n] - shares[later] <= 1


@given(asked=ASKED, there=st.integers(0, 200))
def test_first_come_leaves_nothing_for_the_next_until_served(asked: list[int], there: int) -> None:
    """Who comes after one that lacks something has nothing."""
    shares = first_come(asked, there)
    whole(asked, there, shares)
    lacking = [n for n, bars in enumerate(asked) if shares[n] < bars]
    assert not lacking or sum(shares[lacking[0] + 1 :]) == 0
