"""Strict reading of one table."""

from __future__ import annotations

import pytest

from soapstock.errors import BadInput
from soapstock.recipes.fields import Fields, Source

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
    ],
)
def test_a_value_of_the_wrong_kind_names_its_field(text: str, read: str) -> None:
    """Texts, numbers and flags are not taken for one another."""
    source = Source(text=text, where="t.toml")
    fields = Fields(source, "", source.load(), ("k", "x"))
    arguments = (0, 10) if read in {"number", "whole"} else ()
    with pytest.raises(BadInput, match=r"t\.toml(:1)?: k: "):
        getattr(fields, read)("k", *arguments)


def test_broken_toml_names_its_line() -> None:
    """The parser's place is passed on."""
    with pytest.raises(BadInput, match=r"t\.toml:2: not valid TOML"):
        Source(text="a = 1\nb =\n", where="t.toml").load()
