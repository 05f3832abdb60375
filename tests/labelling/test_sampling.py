"""Checks on a sample of weighed bars."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from soapstock.errors import BadInput
from soapstock.labelling.sampling import check_hb133, check_reference

D = Decimal


def test_a_sample_of_another_size_is_refused_with_the_size_wanted() -> None:
    """A lot of 120 wants twelve bars."""
    with pytest.raises(BadInput, match="12 bars"):
        check_hb133([D(113)] * 11, D(113), 120)
    with pytest.raises(BadInput, match="50 bars"):
        check_reference([D(113)] * 49, D(113), 120, market="eu")


def test_a_bar_short_by_exactly_the_mav_is_reasonable() -> None:
    """Only an error LARGER than the MAV counts."""
    at = check_hb133([D(120)] * 11 + [D("105.8")], D(113), 100)
    over = check_hb133([D(120)] * 11 + [D("105.79")], D(113), 100)
    assert (at.unreasonable, over.unreasonable) == (0, 1)
    assert at.passes
    assert not over.individual_passes


def test_a_moisture_allowance_widens_the_limits_after_the_test() -> None:
    """HB 133 s. 2.3.8: the allowance is added to SEL and MAV, the errors stay as they are."""
    nets = [D(111)] * 12
    plain = check_hb133(nets, D(113), 100)
    allowed = check_hb133(nets, D(113), 100, allowance_percent=D(3))
    assert plain.errors_g == allowed.errors_g
    assert (plain.passes, allowed.passes) == (False, True)


def test_bars_all_equal_and_short_fail_the_average() -> None:
    """With no spread the SEL is zero, and equality with nothing is no pass."""
    assert not check_hb133([D("112.9")] * 12, D(113), 100).average_passes


def test_one_bar_alone_is_judged_by_the_mav_only() -> None:
    """Table 2-1: a lot of one applies the MAV."""
    assert check_hb133([D(110)], D(113), 1).passes
    assert not check_hb133([D(105)], D(113), 1).passes


@given(st.lists(st.decimals(min_value="100", max_value="130", places=1), min_size=12, max_size=12))
def test_adding_weight_to_every_bar_never_turns_a_pass_into_a_failure(nets: list[Decimal]) -> None:
    """Heavier bars can only help."""
    if check_hb133(nets, D(113), 200).passes:
        assert check_hb133([net + 1 for net in nets], D(113), 200).passes


def test_the_mean_is_taken_of_the_first_bars_drawn() -> None:
    """A batch of 500: fifty for contents, the first thirty for the mean."""
    nets = [D(114)] * 30 + [D(110)] * 20
    result = check_reference(nets, D(113), 500, market="eu")
    assert result.mean_sample == 30
    assert result.mean_g == 114


def test_an_average_short_by_exactly_the_limit_fails() -> None:
    """HB 133 does not address equality with the SEL; we take the strict side."""
    at = [D(113) - D("3.39")] * 12  # no spread: the limit is the 3 % allowance alone
    assert not check_hb133(at, D(113), 100, allowance_percent=D(3)).average_passes
    above = [net + D("0.01") for net in at]
    assert check_hb133(above, D(113), 100, allowance_percent=D(3)).average_passes


def test_a_mean_of_exactly_the_nominal_quantity_passes() -> None:
    """Not less than nominal: equality is enough."""
    assert check_reference([D(112), D(114)], D(113), 2, market="eu").mean_passes
    assert not check_reference([D(112), D("113.9")], D(113), 2, market="eu").mean_passes
