"""Room records from a logger's CSV: when, temperature, humidity.

Loggers name their columns as they like, so the header is searched for the words below; °F in a
temperature's column name is turned into °C. Nothing is guessed from the figures themselves.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from soapstock.errors import BadInput
from soapstock.exchange.text_file import read_text_file
from soapstock.tables.csv_text import csv_rows

MAX_BYTES = 50_000_000
_TIME = re.compile(r"time|date", re.IGNORECASE)
_WARM = re.compile(r"temp|°\s*[cf]\b|celsius|fahrenheit", re.IGNORECASE)
_DAMP = re.compile(r"humid|\brh\b", re.IGNORECASE)
_FAHRENHEIT = re.compile(r"°\s*f\b|fahrenheit|\(f\)|_f$", re.IGNORECASE)
_COLDEST, _HOTTEST = -40.0, 85.0  # what such loggers are built for


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomRecord:
    """One line of a logger: local time, degrees Celsius and percent RH, either may be missing."""

    at: datetime
    room_c: float | None
    room_rh: float | None


def read_room_csv(path: Path) -> list[RoomRecord]:
    """The records of a logger's file, in order of time.

    Raises:
        NotFound: no such file.
        BadInput: not a CSV with a time and a temperature or humidity column, or a wrong line;
            says file and line.
    """
    text = read_text_file(path, "logger file", most_bytes=MAX_BYTES)
    first = text.partition("\n")[0]
    delimiter = max(",;\t", key=first.count)
    rows = csv_rows(text, str(path), delimiter=delimiter)
    if not rows:
        raise BadInput(f"{path}: empty", hint="export the records again")
    columns = _columns(path, rows[0])
    found = [
        _record(f"{path}:{number}", row, columns)
        for number, row in enumerate(rows[1:], start=2)
        if any(cell.strip() for cell in row)
    ]
    return sorted(found, key=lambda record: record.at)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Columns:
    time: int
    warm: int | None
    damp: int | None
    fahrenheit: bool


def _columns(path: Path, header: list[str]) -> _Columns:
    def place(pattern: re.Pattern[str]) -> int | None:
        return next((i for i, name in enumerate(header) if pattern.search(name)), None)

    time, warm, damp = place(_TIME), place(_WARM), place(_DAMP)
    if time is None or (warm is None and damp is None):
        raise BadInput(
            f"{path}:1: no column for time, and for temperature or humidity",
            hint="name them in the first line: time, temperature_c, humidity_percent",
        )
    fahrenheit = warm is not None and bool(_FAHRENHEIT.search(header[warm]))
    return _Columns(time=time, warm=warm, damp=damp, fahrenheit=fahrenheit)


def _record(where: str, row: list[str], columns: _Columns) -> RoomRecord:
    def cell(place: int | None) -> str:
        return row[place].strip() if place is not None and place < len(row) else ""

    try:
        at = datetime.fromisoformat(cell(columns.time).replace("/", "-"))
    except ValueError:
        raise BadInput(
            f"{where}: time '{cell(columns.time)}' is not understood",
            hint="write times like 2026-11-25 14:30",
        ) from None
    warm = _figure(where, cell(columns.warm), "temperature")
    if warm is not None and columns.fahrenheit:
        warm = (warm - 32.0) / 1.8
    damp = _figure(where, cell(columns.damp), "humidity")
    if warm is not None and not _COLDEST <= warm <= _HOTTEST:
        raise BadInput(f"{where}: {warm:.0f} °C is no room", hint="is the column in °F? say so")
    if damp is not None and not 0.0 <= damp <= 100.0:  # noqa: PLR2004 - percent
        raise BadInput(f"{where}: humidity {damp:g} % is not between 0 and 100")
    return RoomRecord(at=at.replace(tzinfo=None), room_c=warm, room_rh=damp)


def _figure(where: str, text: str, what: str) -> float | None:
    if not text:
        return None
    try:
        value = float(text.rstrip("%°CF ").replace(",", "."))
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise BadInput(f"{where}: {what} '{text}' is not a number")
    return value
