"""Signs by market, weight and day."""

from datetime import date
from decimal import Decimal

import pytest

from soapstock.errors import RuleBroken
from soapstock.labelling.law import NoRuleInForce
from soapstock.labelling.symbols import get_symbol, opened_text, symbols_for

DAY = date(2026, 11, 25)


def test_the_eu_knows_four_signs_and_the_united_states_none() -> None:
    """Hourglass, open jar, hand on book, e-mark."""
    assert {one.key for one in symbols_for("eu", DAY)} == {
        "hourglass", "open-jar", "hand-on-book", "e-mark",
    }  # fmt: skip
    assert symbols_for("us-soap", DAY) == ()


@pytest.mark.parametrize(
    ("grams", "fits"), [("4.9", False), ("5", True), ("10000", True), ("10001", False)]
)
def test_the_e_mark_is_for_five_grams_to_ten_kilograms(grams: str, fits: bool) -> None:
    """Directive 76/211/EEC: both ends included; at least 3 mm high."""
    if fits:
        assert get_symbol("e-mark", "eu", DAY, Decimal(grams)).min_mm == 3
    else:
        with pytest.raises(RuleBroken):
            get_symbol("e-mark", "eu", DAY, Decimal(grams))


def test_a_sign_without_meaning_in_a_market_is_refused() -> None:
    """An hourglass says nothing on a United States label."""
    with pytest.raises(NoRuleInForce):
        get_symbol("hourglass", "us-soap", DAY)


def test_months_stand_beside_the_jar() -> None:
    """12M."""
    assert opened_text(12) == "12M"
