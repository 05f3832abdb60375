"""The net-weight statement by market."""

from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from soapstock.errors import BadInput
from soapstock.labelling.law import NoRuleInForce
from soapstock.labelling.netweight import enforced_g, factor, net_weight, ounces_down

GRAMS = st.decimals(min_value="5", max_value="5000", places=3)


@given(GRAMS, st.sampled_from(["us-soap", "us-cosmetic"]))
def test_neither_unit_ever_overstates_the_promise(grams: Decimal, market: str) -> None:
    """Grams and ounces, by the law's factors in both directions, stay at or under the promise."""
    weight = net_weight(grams, market)
    assert weight.g <= grams
    assert weight.oz * factor("g_per_oz") <= grams
    assert weight.oz <= grams * factor("oz_per_g")
    assert enforced_g(weight) <= grams


@given(GRAMS, st.sampled_from(["us-soap", "us-cosmetic", "eu", "uk", "ca"]), st.integers(2, 6))
def test_a_package_of_several_declares_so_many_times_one(
    grams: Decimal, market: str, bars: int
) -> None:
    """A buyer who multiplies finds the total; two of 3.98 oz were once printed as 7.97 oz."""
    one, several = net_weight(grams, market), net_weight(grams, market, bars=bars)
    assert (several.g, several.oz) == (bars * one.g, bars * one.oz)
    assert net_weight(Decimal(113), "us-soap", bars=2).text == "Net Wt 7.96 oz (226 g)"


@given(GRAMS)
def test_ounces_lose_less_than_one_step_of_three_figures(grams: Decimal) -> None:
    """Rounding down gives away under 1 % above an ounce: it does not sacrifice accuracy."""
    if grams > 30:
        assert ounces_down(grams) > grams * factor("oz_per_g") * Decimal("0.989")


@given(GRAMS)
def test_a_pound_figure_never_overstates(grams: Decimal) -> None:
    """Pounds printed on a true-soap label stay at or under the promise."""
    text = net_weight(grams, "us-soap").text
    if " lb (" in text:
        pounds = Decimal(text.split()[2])
        assert pounds * factor("g_per_lb") <= grams


@pytest.mark.parametrize(
    ("market", "grams", "text"),
    [
        ("us-soap", "113", "Net Wt 3.98 oz (113 g)"),
        ("us-soap", "453.591", "Net Wt 15.9 oz (453 g)"),
        ("us-soap", "453.592", "Net Wt 1 lb (453 g)"),
        ("us-soap", "680.4", "Net Wt 1.5 lb (680 g)"),
        ("us-cosmetic", "680.4", "Net Wt 24 oz (1 lb 8 oz) 680 g"),
        ("us-cosmetic", "2000", "Net Wt 4.4 lb (2 kg)"),
        ("eu", "113", "113 g"),
        ("eu", "113.398", "113 g"),
        ("eu", "99.22", "99.2 g"),
        ("uk", "1000", "1 kg"),
        ("ca", "999", "999 g"),
        ("ca", "1255", "1.255 kg"),
    ],
)
def test_the_statement_has_the_market_s_form(market: str, grams: str, text: str) -> None:
    """Ounces below a pound, pounds above; metric alone outside the United States."""
    assert net_weight(Decimal(grams), market).text == text


@pytest.mark.parametrize("grams", ["0", "-113", "NaN", "Infinity"])
def test_a_weight_that_is_not_above_zero_is_refused(grams: str) -> None:
    """Nothing, less than nothing and no number are bad input."""
    with pytest.raises(BadInput):
        net_weight(Decimal(grams), "us-soap")


def test_a_day_before_the_market_s_table_is_refused() -> None:
    """No rule is guessed for a day that the table does not cover."""
    with pytest.raises(NoRuleInForce):
        net_weight(Decimal(113), "uk", date(2020, 12, 31))


def test_a_hair_under_four_ounces_is_not_four_ounces() -> None:
    """The two printed factors are no exact inverses: 113.39799 g x 0.0352740 passes 4.00 oz."""
    grams = Decimal("113.39799")
    assert grams * factor("oz_per_g") > 4
    assert net_weight(grams, "us-soap").oz == Decimal("3.99")
