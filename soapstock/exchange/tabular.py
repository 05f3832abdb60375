"""Listings as CSV and JSON.

A cell that a spreadsheet would run as a formula is disarmed with a leading apostrophe, so that a
customer's name cannot become code on the maker's machine.
"""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, is_dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from soapstock.codes.lot import LotCode

_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")


def plain(value: Any) -> Any:
    """The value as JSON knows it: dates as ISO text, lot codes in groups, Decimals as numbers."""
    if isinstance(value, bool) or value is None or isinstance(value, str | int):
        return value.shown if isinstance(value, LotCode) else value
    if isinstance(value, float):
        return round(value, 9)
    if isinstance(value, Decimal):
        return int(value) if value == value.to_integral_value() else float(value)
    if isinstance(value, date | datetime):
        return value.isoformat()
    if isinstance(value, Mapping):
        return {str(plain(key)): plain(inner) for key, inner in value.items()}
    if is_dataclass(value) and not isinstance(value, type):
        return plain(asdict(value))
    if isinstance(value, Iterable):
        return [plain(inner) for inner in value]
    return str(value)


def json_text(value: Any) -> str:
    """The value as indented JSON, keys in the order given."""
    return json.dumps(plain(value), indent=2, ensure_ascii=False)


def safe_cell(value: Any) -> str:
    """One CSV cell as text, disarmed if a spreadsheet would take it for a formula.

    Numbers keep their sign; only text is disarmed. Line ends become a plain newline.
    """
    simple = plain(value)
    if simple is None:
        return ""
    if isinstance(simple, dict):
        return "; ".join(f"{key} {inner}" for key, inner in simple.items())
    if isinstance(simple, list):
        return "; ".join(str(inner) for inner in simple)
    text = str(simple)
    if isinstance(simple, str) and text.startswith(_FORMULA_STARTS):
        text = "'" + text
    return text.replace("\r\n", "\n").replace("\r", "\n")


def flat(row: Mapping[str, Any]) -> dict[str, Any]:
    """The row with one level of inner tables spread out, such as `ready_by.early`."""
    spread: dict[str, Any] = {}
    for key, value in row.items():
        simple = plain(value)
        if isinstance(simple, dict):
            spread |= {f"{key}.{inner}": item for inner, item in simple.items()}
        else:
            spread[key] = simple
    return spread


def csv_text(rows: Sequence[Mapping[str, Any]]) -> str:
    """Rows as CSV with a header line; columns in order of first appearance."""
    spread = [flat(row) for row in rows]
    columns = list(dict.fromkeys(key for row in spread for key in row))
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    if columns:
        writer.writerow(columns)
    writer.writerows([safe_cell(row.get(column)) for column in columns] for row in spread)
    return out.getvalue()
