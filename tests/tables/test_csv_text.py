"""CSV lines that people wrote."""

from __future__ import annotations

import pytest

from soapstock.errors import BadInput
from soapstock.tables.csv_text import csv_cells


def test_cells_lose_the_spaces_around_them() -> None:
    """A quoted comma does not part them."""
    assert csv_cells(' a ,"b, c",', "f:1") == ["a", "b, c", ""]


def test_an_empty_line_has_no_cells() -> None:
    """None, rather than one empty one."""
    assert csv_cells("", "f:1") == []


def test_quotes_that_break_off_are_told_with_their_line_when_strict() -> None:
    """File and line stand before what is wrong."""
    with pytest.raises(BadInput, match=r"f:3: .*expected after"):
        csv_cells('"a"b', "f:3", strict=True)
    assert csv_cells('"a"b', "f:3") == ["ab"]


def test_a_field_without_end_is_told_with_its_line() -> None:
    """A field over the limit of 128 kB."""
    with pytest.raises(BadInput, match=r"f:2: field larger"):
        csv_cells("x" * 200_000, "f:2")
