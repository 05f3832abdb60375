"""Answers a maker asks of a forecast."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import pytest

from soapstock.cure.answers import (
    KEPT,
    chance_ready,
    chances_by_day,
    day_under,
    highest_declared_g,
    losses_percent,
    next_weigh_in,
)
from soapstock.cure.model import Forecast

Weighed = Callable[[Sequence[tuple[float, float]]], Forecast]
TWO = [(7.0, 124.0), (14.0, 120.5)]
FIVE = [*TWO, (21.0, 118.5), (28.0, 117.5), (35.0, 117.0)]


def test_no_batch_is_ready_before_its_cure_days(weighed: Weighed) -> None:
    """On the last day short of the cure the chance is nothing; on the day itself it is dryness."""
    known = weighed(FIVE)
    assert chance_ready(known, 27.9, cure_days=28) == 0.0
    assert chance_ready(known, 28.0, cure_days=28) == pytest.approx(known.chance_dry(28.0))


def test_chances_by_day_never_fall(weighed: Weighed) -> None:
    """Over eight weeks the chance to be ready only rises."""
    chances = chances_by_day(weighed(TWO), list(range(1, 57)), cure_days=20, week_loss_percent=1.0)
    assert chances == sorted(chances)
    assert chances[-1] > 0.99


def test_the_highest_declared_weight_just_holds(weighed: Weighed) -> None:
    """The weight found holds as surely as is asked until best-before; half a gram more does not."""
    known = weighed(FIVE)
    best = highest_declared_g(known, pack_day=36.0, until_day=500.0)
    assert known.chance_mean_at_least(best, 500.0) == pytest.approx(KEPT, abs=0.002)
    assert known.chance_mean_at_least(best + 0.5, 500.0) < KEPT
    assert best <= highest_declared_g(known, pack_day=36.0, until_day=60.0)


def test_without_a_best_before_the_weight_must_hold_for_good(weighed: Weighed) -> None:
    """None means to the end of drying, which asks no more than a long best-before does."""
    known = weighed(FIVE)
    for_good = highest_declared_g(known, pack_day=36.0, until_day=None)
    assert for_good <= highest_declared_g(known, pack_day=36.0, until_day=300.0) + 0.01


def test_a_bar_drops_under_a_high_label_and_never_under_a_low_one(weighed: Weighed) -> None:
    """118 g is passed about when the curve passes it; bone-dry 104 g never."""
    known = weighed(FIVE)
    under = day_under(known, 118.0)
    assert under is not None
    assert under.early < under.expected < under.late
    assert known.mass_at(under.expected).nominal == pytest.approx(118.0, abs=0.2)
    assert day_under(known, 104.0) is None


def test_another_weigh_in_is_proposed_while_it_helps(weighed: Weighed) -> None:
    """After two weeks a further weigh-in narrows the date; it lies ahead, within three weeks."""
    proposal = next_weigh_in(weighed(TWO), 14.0)
    assert proposal is not None
    assert 15.0 <= proposal.day <= 35.0
    assert proposal.spread_then_days < 0.9 * proposal.spread_now_days


def test_no_weigh_in_is_proposed_when_the_date_is_past(weighed: Weighed) -> None:
    """On day 60 the bar is long dry."""
    assert next_weigh_in(weighed(FIVE), 60.0) is None


def test_a_coarse_scale_with_one_bar_promises_less(weighed: Weighed) -> None:
    """Weighing one bar instead of ten narrows the date less."""
    ten = next_weigh_in(weighed(TWO), 14.0, bars=10)
    one = next_weigh_in(weighed(TWO), 14.0, bars=1)
    assert ten is not None
    assert one is not None
    assert one.spread_then_days > ten.spread_then_days


def test_loss_so_far_and_to_come_add_up(weighed: Weighed) -> None:
    """Both together are the whole loss."""
    known = weighed(FIVE)
    so_far, to_come = losses_percent(known, 35.0)
    final = known.final_mass().nominal
    assert so_far + to_come == pytest.approx(100.0 * (1 - final / 130.0), abs=0.2)
    assert so_far == pytest.approx(10.0, abs=0.3)
