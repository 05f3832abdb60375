"""Strict reading of one table."""

from __future__ import annotations

import pytest

from soapstock.errors import BadInput, BadTable
from soapstock.tables.fields import Fields, Source

TEXT = 'a = 1\n[one]\nb = "x"\n[[rows]]\nc = 1\n[[rows]]\nc = true\n'


def test_lines_are_found_by_table_and_key() -> None:
    """Also in the second of repeated tables."""
    source = Source(text=TEXT, where="t.toml")
    assert source.line_of("", "a") == 1
    assert source.line_of("one", "b") == 3
    assert source.line_of("rows[2]", "c") == 7
    assert source.line_of("rows[2]", "d") is None


def test_an_unknown_key_brings_the_nearest_known_one() -> None:
    """Spelling is mended from the hint."""
    source = Source(text="colur = true", where="t.toml")
    with pytest.raises(BadInput, match=r"t\.toml:1: colur: unknown field") as caught:
        Fields(source, "", source.load(), ("colour", "name"))
    assert "colour" in caught.value.hint


@pytest.mark.parametrize(
    ("text", "read"),
    [
        ("k = 1", "text"),
        ('k = ""', "text"),
        ('k = "1"', "number"),
        ("k = true", "number"),
        ("k = 11", "number"),
        ("k = nan", "number"),
        ("k = 1.5", "whole"),
        ('k = "yes"', "flag"),
        ("x = 1", "number"),
        ("k = [1]", "texts"),
        ('k = "ab"', "texts"),
        ('k = "2027-01-31"', "day"),
        ("k = 2027-01-31T08:00:00", "day"),
        ("k = 1", "rows"),
        ("k = [1]", "rows"),
        ("k = 1", "table"),
    ],
)
def test_a_value_of_the_wrong_kind_names_its_field(text: str, read: str) -> None:
    """Texts, numbers and flags are not taken for one another."""
    source = Source(text=text, where="t.toml")
    fields = Fields(source, "", source.load(), ("k", "x"))
    arguments = {"number": (0, 10), "whole": (0, 10), "rows": ((),), "table": ((),)}.get(read, ())
    with pytest.raises(BadInput, match=r"t\.toml(:1)?: k(\[1\])?( is not a table|: )"):
        getattr(fields, read)("k", *arguments)


def test_broken_toml_names_its_line() -> None:
    """The parser's place is passed on."""
    with pytest.raises(BadInput, match=r"t\.toml:2: not valid TOML"):
        Source(text="a = 1\nb =\n", where="t.toml").load()


def test_a_file_of_the_program_is_a_bad_table() -> None:
    """Exit code 5 and not 2: the one who reads it did not write it."""
    source = Source(text="k = 1\nx = ", where="t.toml", error=BadTable)
    with pytest.raises(BadTable):
        source.load()
    with pytest.raises(BadTable, match=r"t\.toml:1: k: '1' is not a text"):
        Fields(source, "", {"k": 1}, ("k",)).text("k")


def test_rows_and_tables_know_their_place() -> None:
    """A fault in the second row is said of the second row, and of its line."""
    source = Source(text=TEXT, where="t.toml")
    top = Fields(source, "", source.load(), ("a", "one", "rows"))
    assert top.table("one", ("b",)).text("b") == "x"
    with pytest.raises(BadInput, match=r"t\.toml:7: rows\[2\]\.c: 'True' is not a number"):
        [row.number("c", 0, 5) for row in top.rows("rows", ("c",))]
