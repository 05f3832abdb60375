"""The CSV of weighed bars."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from soapstock.errors import BadInput
from soapstock.exchange.weights_csv import parse_weights
from soapstock.labelling.sampling import check_reference

D = Decimal


def test_nets_are_read_from_one_column() -> None:
    """Remarks and empty lines are passed over."""
    assert parse_weights("# lot\nnet_g\n113.2\n\n114\n", "w.csv") == (D("113.2"), D(114))


def test_the_average_tare_comes_off_every_gross_weight() -> None:
    """Two wraps weighed 2 g and 3 g: 2.5 g comes off each bar."""
    text = "gross_g,tare_g\n116,2\n117,3\n118,\n"
    assert parse_weights(text, "w.csv") == (D("113.5"), D("114.5"), D("115.5"))


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "empty"),
        ("weight\n113\n", "columns"),
        ("net_g\n", "no bars"),
        ("net_g\n113\nheavy\n", "w.csv:3"),
        ("net_g\n-113\n", "w.csv:2"),
        ("net_g\n0\n", "above zero"),
        ("net_g\n113,5\n", "2 cells"),
        ("gross_g,tare_g\n116,\n", "tare"),
        ("net_g\nNaN\n", "above zero"),
    ],
)
def test_a_broken_file_is_refused_with_its_line(text: str, says: str) -> None:
    """One clear line: what is wrong and where."""
    with pytest.raises(BadInput, match=says):
        parse_weights(text, "w.csv")


@given(st.text(alphabet='netgros_a,0123456789.-"\n eE#', max_size=60), st.booleans())
def test_any_text_is_read_or_refused(text: str, headed: bool) -> None:
    """No file of weights ends in a crash, in reading or in checking."""
    try:
        nets = parse_weights(("net_g\n" if headed else "") + text, "w.csv")
        check_reference(nets, D(113), len(nets), market="eu")
    except BadInput:
        pass
