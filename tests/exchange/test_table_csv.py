"""Tables as CSV files: RFC 4180, cell for cell."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from soapstock.errors import BadInput
from soapstock.exchange.table_csv import read_table, write_table

TEXT = st.text(st.characters(exclude_categories=("Cs",), exclude_characters="\0"), max_size=20)


def test_lines_and_quotes_are_those_of_the_standard(tmp_path: Path) -> None:
    """RFC 4180 (2005) section 2: CRLF (rule 1), a header (3), quotes (6) doubled inside (7)."""
    write_table(tmp_path / "t.csv", ["aaa", "bbb"], [{"aaa": 'b"bb', "bbb": "c,\r\nd"}])
    assert (tmp_path / "t.csv").read_bytes() == b'aaa,bbb\r\n"b""bb","c,\r\nd"\r\n'


@given(st.lists(st.tuples(TEXT, TEXT), max_size=5))
def test_what_is_read_is_what_was_written(tmp_path_factory: pytest.TempPathFactory, cells) -> None:
    """Line ends, quotes, commas and empty cells included."""
    path = tmp_path_factory.mktemp("csv") / "t.csv"
    rows = [{"a": a, "b": b} for a, b in cells]
    assert write_table(path, ["a", "b"], rows) == len(rows)
    assert [row for _, row in read_table(path)] == rows


@pytest.mark.parametrize("data", [b"a,b\r\n1\r\n", b"a,b\r\n1,2,3\r\n", b'a\r\n"1', b"a\r\n\xff"])
def test_a_damaged_file_is_told(tmp_path: Path, data: bytes) -> None:
    """Cells too few or too many, an open quote, no UTF-8."""
    (tmp_path / "t.csv").write_bytes(data)
    with pytest.raises(BadInput, match=r"t\.csv"):
        list(read_table(tmp_path / "t.csv"))
