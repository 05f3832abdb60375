"""CSV that people wrote, read so that a broken line is told in one line."""

from __future__ import annotations

import csv

from soapstock.errors import BadInput


def csv_cells(line: str, where: str, *, strict: bool = False) -> list[str]:
    """The cells of one line, bare of spaces around them; none of an empty line.

    Args:
        line: the text of the line.
        where: file and line, for messages.
        strict: refuse quotes that other readers let pass.

    Raises:
        BadInput: not CSV, such as a field of over 128 kB.
    """
    try:
        return [cell.strip() for cell in next(csv.reader([line], strict=strict), [])]
    except csv.Error as err:
        raise _not_csv(where, err) from None


def _not_csv(where: str, error: csv.Error) -> BadInput:
    return BadInput(f"{where}: {error}", hint="check the quotes in that line")
