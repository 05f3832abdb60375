"""A list as a workbook: one sheet, headings kept in sight, numbers as numbers, text never run."""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from soapstock.exchange.tabular import flat, safe_cell
from soapstock.outfile import replacing

if TYPE_CHECKING:
    from collections.abc import Mapping

    from _typeshed import DataclassInstance

_CONTROLS = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f]")  # what a workbook's XML cannot hold
_WIDEST, _LONGEST = 60, 32_767  # columns of a sheet in characters; a cell's most, by the format


def write_workbook(
    path: Path, title: str, rows: Sequence[Mapping[str, Any] | DataclassInstance]
) -> None:
    """Write records as a workbook (Office Open XML, ISO/IEC 29500).

    Raises:
        BadInput: the file may not be replaced or written; see `outfile.replacing`.
    """
    from openpyxl import Workbook  # noqa: PLC0415 (it takes a while, and only here)
    from openpyxl.styles import Font  # noqa: PLC0415

    spread = [flat(row) for row in rows]
    columns = list(dict.fromkeys(key for row in spread for key in row))
    book = Workbook()
    sheet = book.active
    sheet.title = re.sub(r"[\[\]:*?/\\]", " ", title)[:31] or "list"
    table = [columns, *([_value(row.get(column)) for column in columns] for row in spread)]
    for number, line in enumerate(table, 1):
        for place, value in enumerate(line, 1):
            cell = sheet.cell(row=number, column=place, value=value)
            if isinstance(value, str):
                cell.data_type = "s"  # a text, whatever it begins with
    for place, column in enumerate(columns, 1):
        widest = max(len(str(line[place - 1] or "")) for line in table)
        letter = sheet.cell(row=1, column=place).column_letter
        sheet.column_dimensions[letter].width = min(_WIDEST, max(widest, len(column)) + 2)
        sheet.cell(row=1, column=place).font = Font(bold=True)
    sheet.freeze_panes = "A2"
    with replacing(path, ".xlsx") as temporary:
        book.save(temporary)


def _value(value: Any) -> Any:
    if value is None or isinstance(value, bool | int | float):
        return value
    text = value if isinstance(value, str) else safe_cell(value)
    return _CONTROLS.sub("", text)[:_LONGEST]
