"""Published tables and law as data, and the strict reader for them.

Every TOML file says where its figures come from: `source`, `as_of` and `confidence` stand either
at its top, or in each of its top-level tables. CSV files say the same in header lines (#).
"""

from __future__ import annotations

import csv
import tomllib
from collections.abc import Sequence
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import Any

from soapstock.errors import BadTable

FOLDER = Path(__file__).parent
HEADER_KEYS = ("source", "as_of", "confidence")


def _read(name: str) -> str:
    path = FOLDER / name
    try:
        return path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as err:
        raise BadTable(
            f"tables/{name} cannot be read: {err.__class__.__name__}",
            hint="install soapstock again; its data files are damaged or missing",
        ) from err


def _lacks_header(data: dict[str, Any]) -> list[str]:
    if all(key in data for key in HEADER_KEYS):
        return []
    inner = {key: value for key, value in data.items() if key not in HEADER_KEYS}
    lacking = []
    for name, table in inner.items():
        rows = table if isinstance(table, list) else [table]
        for row in rows:
            known = {**data, **row} if isinstance(row, dict) else data
            if not all(key in known for key in HEADER_KEYS):
                lacking.append(name)
                break
    return lacking or ([] if inner else ["(empty)"])


@cache
def read_toml(name: str) -> dict[str, Any]:
    """One TOML table of the package, numbers with a point as Decimal. Do not change the result.

    Args:
        name: path inside soapstock/tables, such as `chemistry/cautions.toml`.

    Raises:
        BadTable: missing file, wrong TOML (names file and line), or no source, date and confidence.
    """
    try:
        data = tomllib.loads(_read(name), parse_float=Decimal)
    except tomllib.TOMLDecodeError as err:
        raise BadTable(f"tables/{name}: {err}", hint="mend the file at that line") from err
    lacking = _lacks_header(data)
    if lacking:
        raise BadTable(
            f"tables/{name}: [{lacking[0]}] lacks source, as_of or confidence",
            hint="put the three at the top of the file or in each table",
        )
    return data


@cache
def toml_names(folder: str) -> tuple[str, ...]:
    """Names, without their ending, of the TOML tables in a folder of soapstock/tables, sorted."""
    return tuple(sorted(path.stem for path in (FOLDER / folder).glob("*.toml")))


def parse_csv(text: str, where: str, columns: Sequence[str]) -> list[dict[str, str]]:
    """Rows of a CSV text with exactly these columns; lines starting with # are header comments.

    Raises:
        BadTable: wrong columns, or a row with too few or too many cells (names the line).
    """
    lines = text.splitlines()
    kept = [(n, line) for n, line in enumerate(lines, 1) if line.strip() and line[0] != "#"]
    reader = csv.reader([line for _, line in kept], strict=True)
    rows: list[dict[str, str]] = []
    try:
        header = next(reader, [])
        if header != list(columns):
            raise BadTable(f"{where}:{kept[0][0] if kept else 1}: columns are not {columns}")
        for cells in reader:
            line_number = kept[reader.line_num - 1][0]
            if len(cells) != len(header):
                raise BadTable(f"{where}:{line_number}: {len(cells)} cells, not {len(header)}")
            rows.append(dict(zip(header, (cell.strip() for cell in cells), strict=True)))
    except csv.Error as err:
        raise BadTable(f"{where}: {err}", hint="check the quotes in that line") from err
    return rows


@cache
def _read_csv(name: str, columns: tuple[str, ...]) -> list[dict[str, str]]:
    return parse_csv(_read(name), f"tables/{name}", columns)


def read_csv(name: str, columns: Sequence[str]) -> list[dict[str, str]]:
    """Rows of one CSV table of the package, all cells as stripped text. Do not change the result.

    Args:
        name: path inside soapstock/tables.
        columns: the header the file must have, in this order.

    Raises:
        BadTable: missing file, other columns, or a broken row (names file and line).
    """
    return _read_csv(name, tuple(columns))
