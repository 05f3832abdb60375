"""The strict reader of tables."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest

from soapstock import tables
from soapstock.errors import BadTable

ALL_TOML = sorted(str(p.relative_to(tables.FOLDER)) for p in tables.FOLDER.rglob("*.toml"))
ALL_CSV = sorted(tables.FOLDER.rglob("*.csv"))


@pytest.mark.parametrize("name", ALL_TOML)
def test_every_toml_table_carries_source_date_and_confidence(name: str) -> None:
    """Reading succeeds only with the three header keys, at the top or in each table."""
    assert tables.read_toml(name)


@pytest.mark.parametrize("path", ALL_CSV, ids=lambda p: p.name)
def test_every_csv_table_says_where_it_is_from(path: Path) -> None:
    """The header comment or the columns name the source."""
    lines = path.read_text(encoding="utf-8").splitlines()
    comments = " ".join(line for line in lines if line.startswith("#"))
    columns = next(line for line in lines if not line.startswith("#"))
    assert "source" in comments.lower() or "source" in columns


def test_numbers_with_a_point_are_decimal() -> None:
    """Exact figures stay exact."""
    assert isinstance(tables.read_toml("chemistry/atomic_weights.toml")["weights"]["H"], Decimal)


def test_a_missing_table_is_named() -> None:
    """The message holds the file's name."""
    with pytest.raises(BadTable, match=r"nowhere\.toml"):
        tables.read_toml("nowhere.toml")


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("a = \n", "line 1"),
        ("[one]\nvalue = 1\n", "lacks source"),
        ('source = "x"\nas_of = "2026"\n', "lacks source|empty"),
        ('[[rows]]\nsource = "x"\nas_of = "y"\nconfidence = "z"\n[[rows]]\nv = 1\n', "rows"),
    ],
)
def test_broken_toml_is_refused_with_file_and_place(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, text: str, says: str
) -> None:
    """Each broken file fails with a message naming the fault."""
    (tmp_path / "broken.toml").write_text(text)
    monkeypatch.setattr(tables, "FOLDER", tmp_path)
    with pytest.raises(BadTable, match=says) as caught:
        tables.read_toml.__wrapped__("broken.toml")
    assert "broken.toml" in caught.value.message


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("# head\na,c\n1,2\n", "columns"),
        ("# head\na,b\n1,2,3\n", "x.csv:3: 3 cells"),
        ("# head\na,b\n1\n", "x.csv:3: 1 cells"),
        ("", "columns"),
    ],
)
def test_broken_csv_is_refused_with_file_and_line(text: str, says: str) -> None:
    """Other columns and ragged rows are named by line."""
    with pytest.raises(BadTable, match=says):
        tables.parse_csv(text, "x.csv", ("a", "b"))


def test_csv_comments_are_skipped_and_cells_stripped() -> None:
    """Header comments are no rows."""
    rows = tables.parse_csv("# note\na,b\n 1 , two \n", "x.csv", ("a", "b"))
    assert rows == [{"a": "1", "b": "two"}]
