"""Listings as CSV and JSON."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from soapstock.codes.lot import LotCode
from soapstock.exchange.tabular import SPREAD, csv_text, json_text, plain, safe_cell


@pytest.mark.parametrize("text", ["=1+1", "+1", "-cmd", "@SUM(A1)", "\t=1"])
def test_a_formula_is_disarmed(text: str) -> None:
    """Text that a spreadsheet would run gets a leading apostrophe."""
    assert safe_cell(text) == "'" + text


@pytest.mark.parametrize("value", [-5, -1.5, Decimal("-0.5")])
def test_a_negative_number_stays_a_number(value: object) -> None:
    """Only text is disarmed."""
    assert float(safe_cell(value)) == float(str(value))


@given(
    st.lists(st.fixed_dictionaries({"a": st.text(), "b": st.integers()}), min_size=1, max_size=5)
)
def test_csv_reads_back(rows: list[dict[str, object]]) -> None:
    """Any text survives the trip, save for the apostrophe of disarmed cells."""
    read = list(csv.DictReader(io.StringIO(csv_text(rows), newline="")))
    for row, back in zip(rows, read, strict=True):
        text = str(row["a"]).replace("\r\n", "\n").replace("\r", "\n")
        assert back["a"].removeprefix("'" if back["a"] != text else "") == text
        assert int(back["b"]) == row["b"]


def test_inner_tables_become_columns() -> None:
    """One level of nesting is spread out."""
    text = csv_text([{"lot": "X", "ready_by": {"early": date(2026, 1, 2), "late": None}}])
    assert text.splitlines() == ["lot,ready_by.early,ready_by.late", "X,2026-01-02,"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Bar:
    """A record within another."""

    lot: LotCode
    mass_g: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """A record that spreads one record and may hold another."""

    from_: date
    bar: Bar = field(metadata=SPREAD)
    more: Bar | None = field(default=None, metadata=SPREAD)
    inner: Bar | None = None


def test_a_record_is_its_fields() -> None:
    """In their order, lot codes as printed; a spread record's fields stand among its holder's."""
    bar = Bar(lot=LotCode("DRF26241AZ"), mass_g=Decimal("113.5"))
    line = Line(from_=date(2026, 1, 2), bar=bar, inner=bar)
    shown = {"lot": "DRF-26241-AZ", "mass_g": 113.5}
    assert plain(line) == {"from": "2026-01-02", **shown, "inner": shown}
    head = "from,lot,mass_g,inner.lot,inner.mass_g"
    row = "2026-01-02,DRF-26241-AZ,113.5,DRF-26241-AZ,113.5"
    assert csv_text([line]).splitlines() == [head, row]


def test_json_keeps_exact_figures() -> None:
    """Decimals become numbers, dates ISO text."""
    values = {"m": Decimal("1.50"), "d": date(2026, 1, 2), "n": Decimal(3)}
    assert json.loads(json_text(values)) == {
        "m": 1.5,
        "d": "2026-01-02",
        "n": 3,
    }


def test_no_rows_is_no_text() -> None:
    """An empty listing is an empty file."""
    assert csv_text([]) == ""
