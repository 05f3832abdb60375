"""Guards at the door."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from soapstock.errors import BadInput
from soapstock.ledger.write import guards


@given(st.text(max_size=300))
def test_text_is_kept_or_refused_never_mangled(value):
    """What passes is the text without outer blanks, and any database can keep it."""
    try:
        kept = guards.text("note", value)
    except BadInput:
        return
    assert kept == value.strip()
    kept.encode()
    assert "\0" not in kept


@pytest.mark.parametrize("value", [0, -1, 10**14, 1.0, "3", True, None])
def test_whole_number_out_of_bounds_or_kind_is_refused(value):
    """Booleans and floats are no counts."""
    with pytest.raises(BadInput):
        guards.whole("mass in mg", value)


@pytest.mark.parametrize("value", [float("nan"), float("inf"), -101.0, True, "8"])
def test_figure_that_is_no_number_is_refused(value):
    """Nor may a thermometer read infinity."""
    with pytest.raises(BadInput):
        guards.figure("temperature", value)
