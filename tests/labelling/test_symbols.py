"""Signs by market, weight and day."""

from datetime import date
from decimal import Decimal

import pytest

from soapstock.errors import BadTable, RuleBroken
from soapstock.labelling.law import NoRuleInForce
from soapstock.labelling.netweight import net_weight
from soapstock.labelling.symbols import (
    get_symbol,
    opened_text,
    parse_path,
    symbols_for,
    with_e_mark,
)

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


def test_a_drawn_sign_fills_its_square_and_stays_in_it() -> None:
    """Three signs are paths that reach over most of the square; the e-mark is a character."""
    for symbol in symbols_for("eu", DAY):
        if symbol.character:
            assert symbol.paths == ()
            continue
        ends = [step.points[-1] for path in symbol.paths for step in path.steps if step.points]
        assert max(y for _, y in ends) - min(y for _, y in ends) > 80
        assert max(x for x, _ in ends) - min(x for x, _ in ends) > 60


def test_the_e_mark_follows_the_weight() -> None:
    """113 g with the estimated sign, and its rule."""
    marked = with_e_mark(net_weight(Decimal(113), "eu"), "eu", DAY)
    assert marked.text == "113 g \u212e"
    assert "76/211" in marked.rule
    with pytest.raises(NoRuleInForce):
        with_e_mark(net_weight(Decimal(113), "us-soap"), "us-soap", DAY)


@pytest.mark.parametrize(
    ("text", "paint"),
    [
        ("L 1 1", "fill"),
        ("M 1", "fill"),
        ("M 1 x", "fill"),
        ("M 1 101", "fill"),
        ("M 1 1 Q 2 2", "fill"),
        ("", "fill"),
        ("M 1 1", "spray"),
    ],
)
def test_a_broken_path_is_a_bad_table(text: str, paint: str) -> None:
    """A slip in the drawing is named, not drawn."""
    with pytest.raises(BadTable):
        parse_path(text, paint)
