"""The reference test by two samples: what the first settles, and what both do."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from soapstock.errors import BadInput
from soapstock.labelling.double_sampling import check_double, double_plan
from soapstock.labelling.sampling import check_reference

D = Decimal
GOOD, SHORT = D(114), D("107.8")  # 113 g less a TNE of 5.1 g is 107.9 g


def bars(size: int, short: int) -> list[Decimal]:
    """A sample with so many defective bars."""
    return [SHORT] * short + [GOOD] * (size - short)


@pytest.mark.parametrize(
    ("short", "decision"),
    [(0, "accepted"), (1, "accepted"), (2, "second sample"), (3, "rejected"), (9, "rejected")],
)
def test_the_first_sample_accepts_rejects_or_asks_for_the_second(short: int, decision: str) -> None:
    """Thirty bars: one defective accepts, three reject, two leave it open."""
    result = check_double(bars(30, short), D(113), 300)
    assert result.first_defective == short
    assert result.contents == result.after_first == decision
    assert result.second_defective is result.both_defective is None
    assert result.undecided == (decision == "second sample")


@pytest.mark.parametrize(
    ("second", "both", "decision"), [(0, 2, "accepted"), (2, 4, "accepted"), (3, 5, "rejected")]
)
def test_both_samples_are_counted_together(second: int, both: int, decision: str) -> None:
    """Two in the first; of sixty, four accept and five reject."""
    result = check_double(bars(30, 2) + bars(30, second), D(113), 300)
    assert (result.second_defective, result.both_defective) == (second, both)
    assert result.contents == decision
    assert not result.undecided
    assert result.passes == (decision == "accepted")


def test_a_second_sample_that_was_not_needed_changes_nothing_but_is_told() -> None:
    """The first accepted the batch; six short bars in the second are reported."""
    result = check_double(bars(30, 1) + bars(30, 6), D(113), 300)
    assert result.contents == "accepted"
    assert result.both_defective == 7


def test_an_inadequate_bar_counts_wherever_it_is_found() -> None:
    """Short by more than twice the TNE: not sold, though the contents pass."""
    result = check_double([*bars(30, 0), D("102.7"), *bars(29, 0)], D(113), 300)
    assert result.contents == "accepted"
    assert result.inadequate == 1
    assert not result.passes


def test_a_mean_that_fails_is_no_open_question() -> None:
    """No second sample mends a mean under its limit."""
    nets = [*bars(30, 2)[:2], *[D("112")] * 28]
    result = check_double(nets, D(113), 300)
    assert result.contents == "second sample"
    assert not result.mean_passes
    assert not result.undecided


def test_defective_bars_are_named_by_their_number() -> None:
    """A maker can take them out of the row again."""
    result = check_double([GOOD, SHORT, *bars(28, 0)], D(113), 300)
    assert result.short_g == ((2, SHORT),)


def test_a_bar_of_exactly_the_limit_is_not_defective() -> None:
    """Short by MORE than the TNE."""
    assert check_double([D("107.9")] * 2 + bars(28, 0), D(113), 300).first_defective == 0


@pytest.mark.parametrize("given_bars", [0, 29, 31, 59, 61])
def test_another_number_of_bars_is_refused(given_bars: int) -> None:
    """The first sample whole, or both whole."""
    with pytest.raises(BadInput, match="30 bars"):
        check_double(bars(given_bars, 0), D(113), 300)


def test_a_batch_under_a_hundred_is_weighed_whole_instead() -> None:
    """There is nothing left to draw."""
    with pytest.raises(BadInput, match="weighed whole"):
        double_plan(99)
    with pytest.raises(BadInput):
        double_plan(10_001)


@given(st.integers(0, 30), st.integers(0, 30))
def test_a_defective_more_never_helps(first: int, second: int) -> None:
    """Accepted with more defectives is accepted with fewer."""
    rank = {"accepted": 0, "second sample": 1, "rejected": 2}
    one = check_double(bars(30, first) + bars(30, second), D(113), 300)
    for less_first, less_second in ((first - 1, second), (first, second - 1)):
        if min(less_first, less_second) >= 0:
            better = check_double(bars(30, less_first) + bars(30, less_second), D(113), 300)
            assert rank[better.contents] <= rank[one.contents]


def test_the_mean_is_judged_as_in_the_single_plan() -> None:
    """The same first thirty bars, the same figures."""
    nets = [D(112) + D(number % 5) for number in range(60)]
    double, single = check_double(nets, D(113), 300), check_reference(nets[:50], D(113), 300)
    assert (double.mean_g, double.limit_g) == (single.mean_g, single.limit_g)
    assert double.mean_passes == single.mean_passes
