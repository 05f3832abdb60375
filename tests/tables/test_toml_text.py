"""TOML of absurd size is refused at once."""

import pytest

from soapstock.tables.toml_text import toml_of


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("a = 1\n[" + ".".join(["a"] * 20_000) + "]", r"40001 characters.*line 2"),
        ("a = " + "[" * 3000 + "]" * 3000, "too deep"),
        ("a = 1" + "0" * 5000, "4300 digits"),
        ("a = ", "Invalid value"),
    ],
    ids=["a long line", "deep", "a long number", "no value"],
)
def test_absurd_toml_is_no_toml(text, said):
    """A plain ValueError, whatever the parser would do with it."""
    with pytest.raises(ValueError, match=said):
        toml_of(text)


def test_a_long_text_of_short_lines_is_read():
    """Notes may be long."""
    note = "\n".join(["x" * 70] * 1000)
    assert toml_of(f'a = """{note}"""')["a"] == note


@pytest.mark.parametrize(
    "text", ['a = "x\\u0000"', 'a = ["x", {b = "\\U00000000"}]', '"\\u0000" = 1']
)
def test_the_character_that_ends_every_name_is_refused(text: str) -> None:
    """No file's name can hold it (POSIX.1-2017, 3.170 Filename)."""
    with pytest.raises(ValueError, match="u0000"):
        toml_of(text)
