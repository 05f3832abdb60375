"""Reading a CSV of weighed bars."""

from __future__ import annotations

from decimal import Decimal, InvalidOperation

from soapstock.errors import BadInput
from soapstock.tables.csv_text import csv_cells

MAX_BARS = 10_000
MAX_G = Decimal(1_000_000)  # above a tonne a bar's weight is a slip
HEADERS = (("net_g",), ("gross_g", "tare_g"))


def parse_weights(text: str, where: str) -> tuple[Decimal, ...]:
    """Net weights, g, of a CSV of weighed bars: a column `net_g`, or `gross_g` and `tare_g`.

    Lines starting with # are remarks. With tares the AVERAGE tare of the rows that give one is
    taken off every gross weight, as HB 133 s. 2.3 does.

    Raises:
        BadInput: another header, an empty file, or a figure that is none (says the line).
    """
    lines = [
        (number, line)
        for number, line in enumerate(text.lstrip("﻿").splitlines(), 1)
        if line.strip() and not line.lstrip().startswith("#")
    ]
    if not lines:
        raise BadInput(f"{where} is empty", hint="give a column net_g, one bar a line")
    header = tuple(cell.lower() for cell in csv_cells(lines[0][1], f"{where}:{lines[0][0]}"))
    if header not in HEADERS:
        raise BadInput(
            f"{where}:{lines[0][0]}: columns are '{','.join(header)}'",
            hint="give the column net_g, or the two gross_g,tare_g",
        )
    if len(lines) - 1 > MAX_BARS:
        raise BadInput(f"{where}: over {MAX_BARS} bars", hint="is it the right file?")
    rows = [_row(line, number, header, where) for number, line in lines[1:]]
    if not rows:
        raise BadInput(f"{where} has no bars", hint="one bar a line under the heading")
    if header == HEADERS[0]:
        return tuple(row[0] for row in rows if row[0] is not None)
    tares = [row[1] for row in rows if row[1] is not None]
    if not tares:
        raise BadInput(f"{where}: no line gives a tare", hint="weigh at least two empty wraps")
    tare = sum(tares, Decimal(0)) / len(tares)
    return tuple(row[0] - tare for row in rows if row[0] is not None)


def _row(
    line: str, number: int, header: tuple[str, ...], where: str
) -> tuple[Decimal | None, Decimal | None]:
    cells = csv_cells(line, f"{where}:{number}")
    if len(cells) != len(header):
        raise BadInput(f"{where}:{number}: {len(cells)} cells, not {len(header)}")
    values: list[Decimal | None] = []
    for name, cell in zip(header, cells, strict=True):
        if not cell and name == "tare_g":
            values.append(None)
            continue
        try:
            value = Decimal(cell)
        except InvalidOperation:
            raise BadInput(
                f"{where}:{number}: {name} '{cell}' is not a number", hint="write grams like 113.4"
            ) from None
        if value.is_finite() and value > MAX_G:
            raise BadInput(f"{where}:{number}: {name} {cell[:20]} g is over a tonne")
        if not value.is_finite() or value < 0 or (value == 0 and name != "tare_g"):
            raise BadInput(f"{where}:{number}: {name} {cell} is not above zero")
        values.append(value)
    return values[0], values[1] if len(values) > 1 else None
