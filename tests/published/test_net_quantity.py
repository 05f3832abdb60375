"""Dual declarations against 16 CFR 500.19's factors and rounding."""

from decimal import Decimal

import pytest

from soapstock.labelling.netweight import factor, net_weight

D = Decimal


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("g_per_oz", "28.3495"),
        ("g_per_lb", "453.592"),
        ("oz_per_g", "0.0352740"),
        ("lb_per_kg", "2.20462"),
        ("sq_cm_per_sq_in", "6.4516"),
    ],
)
def test_the_factors_are_the_rule_s(name: str, value: str) -> None:
    """16 CFR 500.19(a): these factors and none others."""
    assert factor(name) == D(value)


@pytest.mark.parametrize(
    ("ounces", "grams", "shown"),
    [("3.5", "99.22325", "99.2"), ("4", "113.398", "113"), ("4.25", "120.485375", "120")],
)
def test_ounces_to_grams_round_down_to_three_figures(ounces: str, grams: str, shown: str) -> None:
    """16 CFR 500.19(b) and UPLR: 28.3495 g an ounce, three figures, rounded down."""
    assert D(ounces) * factor("g_per_oz") == D(grams)
    weight = net_weight(D(grams), "us-soap")
    assert weight.g == D(shown)
    assert weight.oz == D(ounces)


@pytest.mark.parametrize(("grams", "ounces"), [("100", "3.52"), ("113", "3.98")])
def test_grams_to_ounces_round_down_to_two_places(grams: str, ounces: str) -> None:
    """16 CFR 500.17 (two places at most), UPLR: 100 g = 3.52740 oz, 113 g = 3.98596 oz."""
    assert net_weight(D(grams), "us-soap").oz == D(ounces)


def test_the_cosmetic_double_statement() -> None:
    """21 CFR 701.13(m) (from memory): "Net Wt 24 oz (1 lb 8 oz)"."""
    assert net_weight(D("680.388"), "us-cosmetic").text.startswith("Net Wt 24 oz (1 lb 8 oz)")
