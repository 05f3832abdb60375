"""Printing for people: tables that survive 80 columns and a pipe, notes, cautions, JSON and CSV."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeAlias

if TYPE_CHECKING:
    from _typeshed import DataclassInstance
    from rich.console import Console

    from soapstock.enter.entered import Entered

    Record: TypeAlias = Mapping[str, Any] | DataclassInstance


NARROW = 50  # columns; a table that does not fit into fewer is said line by line


@dataclass(slots=True)
class Workbook:
    """Where the command's list is to be written as a workbook, and whether it was."""

    path: Path | None = None
    written: bool = False


workbook = Workbook()  # of the command that runs; set anew for each
NAMES_CUSTOMERS = "It names customers: it is for nobody else's eyes."


def console() -> Console:
    """A console on standard output: 80 columns in a pipe, colours only on a terminal."""
    from rich.console import Console

    width = None if sys.stdout.isatty() or os.environ.get("COLUMNS") else 80
    return Console(highlight=False, width=width, soft_wrap=False, markup=False, emoji=False)


_CONTROLS = {c: f"\\x{c:02x}" for c in (*range(32), *range(127, 160)) if chr(c) not in "\n\t"}


def harmless(text: str) -> str:
    """A text that no terminal obeys: controls are shown as escapes."""
    return text.translate(_CONTROLS)


def say(text: str = "") -> None:
    """Print one paragraph, wrapped to the console's width."""
    console().print(harmless(text), overflow="fold")


def tell_entered(entered: Entered) -> None:
    """Say what was entered, the number of its entry, and what is to be noted of it."""
    say(f"{entered.said} (entry {entered.entry_id})")
    say_notes(entered.notes)


def say_notes(notes: Iterable[str]) -> None:
    """Print notes, one a line, each led by a dash."""
    from rich.padding import Padding

    out = console()
    for note in notes:
        out.print(Padding(f"- {harmless(note)}", (0, 0, 0, 2)))


def caution_line() -> str:
    """The usual cautions in one line, where a lye weight stands in a history or a file."""
    from soapstock.chemistry.cautions import lye_cautions

    return "Lye burns. " + " ".join(lye_cautions(None))


def say_cautions(cautions: Sequence[str], head: str = "LYE BURNS. Before you mix:") -> None:
    """Print the cautions that stand wherever a lye weight is shown."""
    if cautions:
        say("")
        say(head)
        say_notes(cautions)


def table(
    title: str,
    columns: Sequence[str],
    rows: Sequence[Sequence[str]],
    *,
    right: Sequence[str] = (),
    whole: Sequence[str] = (),
    spare: Sequence[str] = (),
    empty: str = "nothing to show",
) -> None:
    """Print a table.

    Args:
        right: columns set flush right (figures).
        whole: columns never broken over lines (lot codes, dates).
        spare: columns left out, the first named first, where a screen is too narrow for all.
        empty: what to say when there are no rows.
    """
    from rich import box
    from rich.table import Table

    if not rows:
        say(f"{title}: {empty}." if title else empty)
        return
    out = console()
    for column in spare:
        if _least_widths(columns, rows, whole, out.width)[0] is None:
            at = list(columns).index(column)
            columns = [*columns[:at], *columns[at + 1 :]]
            rows = [[*row[:at], *row[at + 1 :]] for row in rows]
    least = _least_widths(columns, rows, whole, out.width)
    if least[0] is None and out.width < NARROW:
        _say_rows(title, columns, rows)
        return
    grid = Table(
        title=title or None,
        title_justify="left",
        box=box.SIMPLE_HEAD,
        pad_edge=False,
        padding=(0, 1, 0, 0),
        title_style="bold",
    )
    for column, width in zip(columns, least, strict=True):
        grid.add_column(
            column,
            justify="right" if column in right else "left",
            no_wrap=column in whole,
            overflow="fold",
            min_width=width,
        )
    for row in rows:
        grid.add_row(*(harmless(cell) for cell in row))
    out.print(grid)


def _say_rows(title: str, columns: Sequence[str], rows: Sequence[Sequence[str]]) -> None:
    """A table on a screen too narrow for one: a line a cell, led by its heading."""
    say(f"{title}:" if title else "")
    for row in rows:
        say("")
        for column, cell in zip(columns, row, strict=True):
            if cell.strip():
                say(f"{column}: {cell}" if column else cell)


def _least_widths(
    columns: Sequence[str], rows: Sequence[Sequence[str]], whole: Sequence[str], width: int
) -> list[int | None]:
    """The width of each column that keeps its words whole; None for all when they do not fit."""
    found = []
    for n, column in enumerate(columns):
        cells = [column, *(row[n] for row in rows)]
        parts = cells if column in whole else [word for cell in cells for word in cell.split()]
        found.append(max(map(len, parts), default=1))
    gaps = 2 * len(found) + 1
    return [*found] if sum(found) + gaps <= width else [None] * len(found)


def table_of(
    title: str,
    rows: Sequence[Record],
    keys: Sequence[str],
    *,
    right: Sequence[str] = (),
    spare: Sequence[str] = (),
    empty: str,
) -> None:
    """Print records as a table whose columns are headed by their keys."""

    def heads(names: Sequence[str]) -> list[str]:
        return [name.replace("_", " ").capitalize() for name in names]

    shown = [cells(row, keys) for row in rows]
    table(
        title,
        heads(keys),
        shown,
        right=heads(right),
        whole=["Lot"],
        spare=heads(spare),
        empty=empty,
    )


def emit(rows: Iterable[Record], *, as_json: bool, as_csv: bool) -> bool:
    """Print records as JSON or CSV, or write the workbook, if asked; True when it did."""
    if workbook.path is not None:
        _write_workbook(rows, workbook.path)
        return True
    if not (as_json or as_csv):
        return False
    from soapstock.errors import BadInput
    from soapstock.exchange.tabular import csv_text, json_text

    if as_json and as_csv:
        raise BadInput("--json and --csv together", hint="give one of them")
    if as_json:
        sys.stdout.write(json_text(list(rows)) + "\n")
    else:
        sys.stdout.write(csv_text(list(rows)))
    return True


def _write_workbook(rows: Iterable[Record], path: Path) -> None:
    from soapstock.exchange.workbook import write_workbook
    from soapstock.units import several

    found = list(rows)
    write_workbook(path, path.stem, found)
    workbook.written = True
    say(f"Wrote {path} ({several(len(found), 'row')}). Look whether it names customers.")


def emit_record(record: Record) -> None:
    """Print one record as JSON."""
    from soapstock.exchange.tabular import json_text

    sys.stdout.write(json_text(record) + "\n")


def cells(row: Record, keys: Sequence[str]) -> list[str]:
    """The record's values under those keys as table cells."""
    from soapstock.exchange.tabular import plain

    simple = plain(row)
    return ["" if simple.get(key) is None else str(simple[key]) for key in keys]
