"""A maker's old notes as pages of cells: CSV, a workbook, or lines typed as they stand.

Columns may be headed in any way; a `Mapping` says what each one means and can be kept as TOML:

    date_order = "mdy"        # of 3/10: mdy or dmy
    unit = "g"                # of a mass without one
    [columns]
    "Tallow (oz)" = "beef-tallow"
    "When" = "poured_on"
    "Room" = ""               # left out
"""

from __future__ import annotations

import csv
import hashlib
import io
import json
import re
import zipfile
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from pathlib import Path
from typing import Any

from soapstock.errors import BadInput
from soapstock.exchange.text_file import MEGABYTE, read_text_file
from soapstock.tables.fields import Fields, Source
from soapstock.units import GRAMS_PER

MOST_ROWS, MOST_CELL = 5_000, 2_000
FIELDS = ("poured_on", "variety", "bars", "note", "lye", "water", "ingredient", "mass")
_MOST_BYTES = 20 * MEGABYTE
_LINE = re.compile(r"[;,]|(?<!\d)\.(?!\d)|\s+and\s+|\s+[-\u2013\u2014]\s+")


@dataclass(frozen=True, slots=True, kw_only=True)
class Page:
    """What stands for one batch in the notes.

    Attributes:
        where: such as `line 4` or `Sheet1, row 3`.
        cells: heading and text, as they stand; a typed line has one cell with no heading.
    """

    where: str
    cells: tuple[tuple[str, str], ...]

    @property
    def said(self) -> str:
        """All that stands there, as one text."""
        return "; ".join(f"{head}: {text}" if head else text for head, text in self.cells)


@dataclass(frozen=True, slots=True, kw_only=True)
class NotesMap:
    """What the columns of the notes mean; a heading without an entry is read by its name."""

    columns: Mapping[str, str] = field(default_factory=dict)
    date_order: str = ""
    unit: str = ""


def read_notes(path: Path, sheet: str = "") -> list[Page]:
    """The pages of a file.

    Args:
        sheet: of a workbook; else its first.

    Raises:
        BadInput: not to be read, or too long.
        NotFound: no such file.
    """
    kind = path.suffix.lower()
    if kind == ".xlsx":
        return _of_rows(_workbook(path, sheet), f"{sheet or 'sheet'}, row")
    text = read_text_file(path, "notes", most_bytes=_MOST_BYTES)
    if "\0" in text:
        raise BadInput(f"{path} is not a text file", hint="save it as CSV or as a workbook (.xlsx)")
    if kind in {".csv", ".tsv"}:
        return _of_rows(_table(text, path), "line")
    return _of_text(text)


def _table(text: str, path: Path) -> list[list[str]]:
    first = text.partition("\n")[0]
    delimiter = max(",;\t", key=first.count)
    try:
        return list(csv.reader(io.StringIO(text, newline=""), delimiter=delimiter))
    except csv.Error as err:
        raise BadInput(f"{path} cannot be read: {err}") from None


def _workbook(path: Path, sheet: str) -> list[list[str]]:
    from openpyxl import load_workbook  # noqa: PLC0415 (it takes a while, and only here)

    try:
        if path.stat().st_size > _MOST_BYTES:
            raise BadInput(f"{path} is over {_MOST_BYTES // MEGABYTE} MB")
        book = load_workbook(path, read_only=True, data_only=True)
        if sheet and sheet not in book.sheetnames:
            there = ", ".join(book.sheetnames)
            raise BadInput(f"{path} has no sheet '{sheet}'", hint=f"sheets: {there}")
        found = book[sheet] if sheet else book.worksheets[0]
        rows = [
            [_cell(value) for value in row]
            for row in found.iter_rows(values_only=True, max_row=MOST_ROWS + 2)
        ]
        book.close()
    except (OSError, zipfile.BadZipFile, KeyError, ValueError, IndexError) as err:
        raise BadInput(f"{path} cannot be read as a workbook: {err}") from None
    return rows


def _cell(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, datetime):
        return value.date().isoformat()
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, float):
        return f"{value:.10g}"
    return str(value)


def _of_rows(rows: Sequence[Sequence[str]], what: str) -> list[Page]:
    """The rows under their headings; rows of one ingredient each are put together by batch."""
    heads = next(([c.strip() for c in row] for row in rows if any(c.strip() for c in row)), [])
    if not heads:
        return []
    begun = next(n for n, row in enumerate(rows) if any(c.strip() for c in row))
    pages = []
    for number, row in enumerate(rows[begun + 1 :], begun + 2):
        if number > MOST_ROWS:
            raise BadInput(f"over {MOST_ROWS} rows", hint="split the file")
        filled = list(row) + [""] * (len(heads) - len(row))
        cells = tuple(
            (head, text.strip()[:MOST_CELL])
            for head, text in zip(heads, filled, strict=False)
            if text.strip()
        )
        if cells:
            pages.append(Page(where=f"{what} {number}", cells=cells))
    return pages


def _of_text(text: str) -> list[Page]:
    """Typed pages: an empty line stands between two of them, a comma between two things."""
    pages: list[Page] = []
    cells: list[tuple[str, str]] = []
    begun = 0
    for number, line in enumerate([*text.splitlines(), ""], 1):
        if line.strip():
            begun = begun or number
            cells += [("", part.strip()) for part in _LINE.split(line) if part.strip()]
        elif cells:
            pages.append(Page(where=f"line {begun}", cells=tuple(cells)))
            cells, begun = [], 0
    return pages


def read_mapping(text: str, where: str) -> NotesMap:
    """A mapping from its TOML, strictly. Raises BadInput naming file, line and key."""
    source = Source(text=text, where=where)
    top = Fields(source, "", source.load(), ("columns", "date_order", "unit"))
    order, unit = top.as_written("date_order", ""), top.as_written("unit", "")
    if order not in {"", "mdy", "dmy"}:
        raise top.fail("date_order", "must be mdy or dmy")
    if unit and unit not in GRAMS_PER:
        raise top.fail("unit", f"must be one of {', '.join(GRAMS_PER)}")
    return NotesMap(columns=top.text_map("columns"), date_order=order, unit=unit)


def kept_mapping(folder: Path, heads: Collection[str]) -> Path:
    """The mapping kept in a folder that knows all these headings; else where one is to be kept.

    Raises:
        BadInput: a mapping there that cannot be read.
    """
    for path in sorted(folder.glob("*.toml")):
        known = read_mapping(read_text_file(path, "a mapping"), str(path)).columns
        if set(heads) <= set(known):
            return path
    name = hashlib.sha256(json.dumps(sorted(heads)).encode()).hexdigest()[:12]
    return folder / f"{name}.toml"


def mapping_text(mapping: NotesMap) -> str:
    """A mapping as the TOML that `read_mapping` reads."""
    lines = [f'date_order = "{mapping.date_order}"', f'unit = "{mapping.unit}"', "", "[columns]"]
    lines += [f"{json.dumps(head)} = {json.dumps(key)}" for head, key in mapping.columns.items()]
    return "\n".join(lines) + "\n"
