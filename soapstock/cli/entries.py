"""`undo` and `entries`: the ledger's entries."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from soapstock.cli.frame.output import cells, emit, say, table
from soapstock.cli.frame.session import AsCsv, AsJson, On, day_or_none, desk, offer_lots
from soapstock.errors import BadInput

if TYPE_CHECKING:
    from soapstock.views.history import EntryRow


def undo(
    ctx: typer.Context,
    entry: Annotated[
        list[str],
        typer.Argument(metavar="ENTRY...", help="Numbers of entries, or last: your last one."),
    ],
    because: Annotated[str, typer.Option("--because", help="What was wrong with it.")] = "",
    on: On = None,
) -> None:
    """Nothing is ever erased. Of several entries the newest is undone first; all, or none."""
    from soapstock.enter import undo as enter_undo

    with desk(ctx) as opened:
        if entry == ["last"]:
            said = enter_undo.undo_last(opened, because or "entered by mistake", day_or_none(on))
            say(said.said)
            return
        numbers = sorted({_number(text) for text in entry}, reverse=True)
        with opened.writing() as (here, _):
            done = [enter_undo.undo(here, n, because, day_or_none(on)) for n in numbers]
    for each in done:
        say(each.said)


def _number(text: str) -> int:
    if not (text.isdecimal() and text.isascii()):
        raise BadInput(f"'{text}' is not an entry's number", hint="give a number, or last")
    return int(text)


def entries(
    ctx: typer.Context,
    lot: Annotated[
        str | None,
        typer.Argument(metavar="LOT", help="Of one lot only.", autocompletion=offer_lots),
    ] = None,
    last: Annotated[int, typer.Option(min=1, help="How many at the most.")] = 30,
    as_json: AsJson = False,
    as_csv: AsCsv = False,
) -> None:
    from soapstock.views import history

    with desk(ctx) as opened:
        rows = history.entries(opened, lot, last)
    if emit(rows, as_json=as_json, as_csv=as_csv):
        return
    table(
        "Entries",
        ["No", "Day", "What", "By", "Undone by"],
        [_row(r) for r in rows],
        right=["No"],
        whole=["No", "Day"],
        empty="none yet",
    )


def _row(row: EntryRow) -> list[str]:
    """An entry's cells; its note stands with what it says."""
    number, day, what, by, undone = cells(row, ["entry", "happened_on", "what", "by", "undone_by"])
    return [number, day, f"{what}; note: {row.note}" if row.note else what, by, undone]
