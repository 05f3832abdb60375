"""`undo` and `entries`: the ledger's entries."""

from __future__ import annotations

from typing import Annotated

import typer

from soapstock.cli.frame.output import cells, emit, say, table
from soapstock.cli.frame.session import AsCsv, AsJson, On, day_or_none, desk, offer_lots
from soapstock.errors import BadInput


def undo(
    ctx: typer.Context,
    entry: Annotated[
        str, typer.Argument(metavar="ENTRY", help="Number of the entry, or last: your last one.")
    ],
    because: Annotated[str, typer.Option("--because", help="What was wrong with it.")] = "",
    on: On = None,
) -> None:
    """Nothing is ever erased."""
    from soapstock.enter import undo as enter_undo

    with desk(ctx) as opened:
        if entry == "last":
            said = enter_undo.undo_last(opened, because or "entered by mistake", day_or_none(on))
        elif entry.isdecimal() and entry.isascii():
            said = enter_undo.undo(opened, int(entry), because, day_or_none(on))
        else:
            raise BadInput(f"'{entry}' is not an entry's number", hint="give a number, or last")
    say(said.said)


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
        [cells(r, ["entry", "happened_on", "what", "by", "undone_by"]) for r in rows],
        right=["No"],
        whole=["No", "Day"],
        empty="none yet",
    )
