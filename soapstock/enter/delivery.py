"""A delivery: several ingredients of one supplier, typed or listed line by line."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path

from soapstock.desk.desk import Desk
from soapstock.enter.entered import Entered
from soapstock.enter.receive import receive
from soapstock.errors import BadInput, SoapstockError
from soapstock.exchange.text_file import MEGABYTE, read_text_file
from soapstock.tables.csv_text import csv_cells
from soapstock.units import read_best_before

COLUMNS = ("ingredient", "mass", "lot", "cost", "best_before")
MAX_LINES = 500


@dataclass(frozen=True, slots=True, kw_only=True)
class Came:
    """One line of a delivery: what came, its mass, and what its paper says."""

    ingredient: str
    mass: str
    supplier_lot: str = ""
    cost: str = ""
    best_before: date | None = None


def read_line(text: str, where: str = "", days: str = "iso") -> Came:
    """One line, such as `olive, 5kg, 77A, 24.50, 2027-08-31`; what is not known is left out.

    Args:
        days: how the shop writes its days, besides ISO 8601.

    Raises:
        BadInput: not such a line.
    """
    cells = csv_cells(text, where, strict=True)
    if not 2 <= len(cells) <= len(COLUMNS) or not (cells[0] and cells[1]):
        raise BadInput(
            f"'{text.strip()[:60]}' is no line of a delivery",
            hint="write ingredient, mass, their lot, cost, best-before: olive, 5kg, 77A, 24.50",
        )
    ingredient, mass, lot, cost, day = (*cells, "", "", "")[: len(COLUMNS)]
    return Came(
        ingredient=ingredient,
        mass=mass,
        supplier_lot=lot,
        cost=cost,
        best_before=_day(day, days) if day else None,
    )


def _day(text: str, days: str) -> date:
    try:
        return read_best_before(text, days)
    except ValueError:
        hint = "write it like 2026-11-25 or 2026-11"
        raise BadInput(f"'{text[:20]}' is not a day", hint=hint) from None


def receive_line(
    desk: Desk,
    came: Came,
    supplier: str,
    *,
    sure: bool = False,
    on: date | None = None,
    note: str = "",
) -> Entered:
    """Receive one line of a delivery. Raises as `receive`."""
    return receive(
        desk,
        came.ingredient,
        came.mass,
        supplier=supplier,
        supplier_lot=came.supplier_lot,
        cost=came.cost,
        best_before=came.best_before,
        sure=sure,
        on=on,
        note=note,
    )


def receive_list(
    desk: Desk,
    path: Path,
    supplier: str,
    *,
    sure: bool = False,
    on: date | None = None,
    note: str = "",
) -> list[Entered]:
    """Receive a delivery from a CSV file whose first line names its columns; all of it or nothing.

    Raises:
        BadInput, NotFound, RuleBroken: as `receive`; the message begins with file and line.
    """
    text = read_text_file(path, "list", most_bytes=MEGABYTE)
    lines = [(n, line) for n, line in enumerate(text.splitlines(), 1) if line.strip(" ,\t")]
    if not lines or csv_cells(lines[0][1], f"{path}:1") != list(COLUMNS):
        raise BadInput(f"{path}: the columns are not as wanted", hint="begin: " + ",".join(COLUMNS))
    if not 1 < len(lines) <= MAX_LINES:
        raise BadInput(f"{path} has {len(lines) - 1} lines", hint=f"give 1 to {MAX_LINES - 1}")
    done = []
    with desk.writing() as (here, _):
        for number, line in lines[1:]:
            try:
                came = read_line(line, f"{path}:{number}", desk.shop.days)
                done.append(receive_line(here, came, supplier, sure=sure, on=on, note=note))
            except SoapstockError as err:
                raise err.within(f"{path}:{number}") from None
    return done
