"""Records as CSV and JSON: a frozen dataclass a row, its fields the keys and the columns.

A view hands over records; the face that prints them makes text of them here and nowhere else. A
field named for a word that Python keeps ends in an underscore (`from_` is the key `from`), and one
with the metadata `SPREAD` holds a record whose fields stand among its own.

A cell that a spreadsheet would run as a formula is disarmed with a leading apostrophe, so that a
customer's name cannot become code on the maker's machine.
"""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import fields, is_dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from soapstock.codes.lot import LotCode

if TYPE_CHECKING:
    from _typeshed import DataclassInstance

SPREAD: Mapping[str, bool] = {"spread": True}
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
        return _by_key(value)
    if isinstance(value, Iterable):
        return [plain(inner) for inner in value]
    return str(value)


def _by_key(record: DataclassInstance) -> dict[str, Any]:
    """The record's values under their keys."""
    found: dict[str, Any] = {}
    for part in fields(record):
        inner = plain(getattr(record, part.name))
        if "spread" in part.metadata:
            found |= inner or {}
        else:
            found[part.name.removesuffix("_")] = inner
    return found


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


def flat(row: Mapping[str, Any] | DataclassInstance) -> dict[str, Any]:
    """The row with one level of inner tables spread out, such as `ready_by.early`."""
    spread: dict[str, Any] = {}
    for key, simple in plain(row).items():
        if isinstance(simple, dict):
            spread |= {f"{key}.{inner}": item for inner, item in simple.items()}
        else:
            spread[key] = simple
    return spread


def csv_text(rows: Sequence[Mapping[str, Any] | DataclassInstance]) -> str:
    """Rows as CSV with a header line; columns in order of first appearance."""
    spread = [flat(row) for row in rows]
    columns = list(dict.fromkeys(key for row in spread for key in row))
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    if columns:
        writer.writerow(columns)
    writer.writerows([safe_cell(row.get(column)) for column in columns] for row in spread)
    return out.getvalue()
