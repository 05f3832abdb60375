"""The pH on record against a market's limit."""

from datetime import date, timedelta

import pytest

from soapstock.errors import RuleBroken
from soapstock.labelling.alkalinity import PhReading, check_ph

DAY = date(2026, 11, 25)


def readings(*values: str) -> tuple[PhReading, ...]:
    """Readings of one batch on successive days."""
    return tuple(
        PhReading(on=DAY + timedelta(days=number), value=value)
        for number, value in enumerate(values)
    )


@pytest.mark.parametrize("market", ["eu", "uk"])
@pytest.mark.parametrize("value", ["9.5", "10.9", "10.99"])
def test_below_the_limit_nothing_is_said(market: str, value: str) -> None:
    """Under 11 there is nothing to tell."""
    assert check_ph(readings(value), market, DAY) == ()


@pytest.mark.parametrize("market", ["eu", "uk"])
@pytest.mark.parametrize("value", ["11", "11.0", "11.01", "12.3"])
def test_at_or_above_the_limit_the_label_is_refused(market: str, value: str) -> None:
    """The citation, how we know it, and what to do."""
    with pytest.raises(RuleBroken, match=r"entry 15a\(d\).*interpretation") as caught:
        check_ph(readings(value), market, DAY)
    assert "test again" in caught.value.hint


def test_the_latest_reading_counts_whatever_the_order_of_entry() -> None:
    """Soap grows milder; a later day's figure stands for the bar."""
    early, late = readings("11.4", "10.4")
    assert check_ph((late, early), "eu", DAY) == ()
    early, late = readings("10.4", "11.4")
    with pytest.raises(RuleBroken):
        check_ph((late, early), "eu", DAY)


def test_without_a_reading_the_maker_is_told_to_take_one() -> None:
    """No figure, no verdict."""
    for none in ((), readings("pink")):
        (note,) = check_ph(none, "eu", DAY)
        assert "below 11" in note


@pytest.mark.parametrize("market", ["us-soap", "us-cosmetic", "ca"])
def test_markets_without_the_rule_say_nothing(market: str) -> None:
    """The limit is European law."""
    assert check_ph(readings("12"), market, DAY) == ()


def test_the_rule_starts_on_its_day() -> None:
    """OJ L 106 of 22 April 2016, twentieth day after: 12 May 2016; before, the older text."""
    with pytest.raises(RuleBroken, match="text before"):
        check_ph(readings("12"), "eu", date(2016, 5, 11))
    for day in (date(2016, 5, 12), date(2016, 5, 13)):
        with pytest.raises(RuleBroken, match=r"15a\(d\), Regulation"):
            check_ph(readings("12"), "eu", day)
