"""`undo`, `entries`, `stock` and `lots`: the ledger itself."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import Annotated

import typer

from soapstock.cli.output import caution_line, cells, emit, say, table
from soapstock.cli.session import AsCsv, AsJson, On, day_or_none, desk, session


def register(app: typer.Typer) -> None:
    """Add the commands of this file."""
    app.command("undo")(undo)
    app.command("entries")(entries)
    app.command("stock")(stock)
    app.command("lots")(lots)


def undo(
    ctx: typer.Context,
    entry: Annotated[int, typer.Argument(metavar="ENTRY", help="Number of the entry to undo.")],
    because: Annotated[str, typer.Option("--because", help="What was wrong with it.")] = "",
    on: On = None,
) -> None:
    """Undo an entry by writing the entry that reverses it. Nothing is ever erased."""
    from soapstock.enter import undo as enter_undo

    with desk(ctx) as opened:
        say(enter_undo.undo(opened, entry, because, day_or_none(on)).said)


def entries(
    ctx: typer.Context,
    lot: Annotated[str | None, typer.Argument(metavar="LOT", help="Of one lot only.")] = None,
    last: Annotated[int, typer.Option(min=1, help="How many at the most.")] = 30,
    as_json: AsJson = False,
    as_csv: AsCsv = False,
) -> None:
    """List the ledger's entries, the newest last."""
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


def stock(ctx: typer.Context, as_json: AsJson = False, as_csv: AsCsv = False) -> None:
    """Show what lies where."""
    from soapstock.views import stock as stock_views

    with desk(ctx) as opened:
        rows = stock_views.stock(opened)
    if emit(rows, as_json=as_json, as_csv=as_csv):
        return
    table(
        "Stock",
        ["Lot", "Item", "Place", "Quantity", ""],
        [[r["lot"], r["item"], r["place"], f"{r['quantity']:,}", r["unit"]] for r in rows],
        right=["Quantity"],
        whole=["Lot"],
        empty="nothing in stock; receive an ingredient first",
    )
    _caution(row["item"] for row in rows)


def lots(
    ctx: typer.Context,
    ingredient: Annotated[str | None, typer.Argument(help="Of one ingredient only.")] = None,
    everything: Annotated[bool, typer.Option("--all", help="Used-up lots too.")] = False,
    as_json: AsJson = False,
    as_csv: AsCsv = False,
) -> None:
    """List ingredient lots, first expired first."""
    from soapstock.views import stock as stock_views

    with desk(ctx) as opened:
        rows = stock_views.ingredient_lots(opened, ingredient, everything=everything)
    if emit(rows, as_json=as_json, as_csv=as_csv):
        return
    today = session(ctx).today
    table(
        "Ingredient lots",
        ["Lot", "Ingredient", "From", "Their lot", "Left g", "Best before"],
        [
            [
                r["lot"],
                r["ingredient"],
                r["supplier"],
                r["supplier_lot"],
                f"{r['left_g']:,.0f}",
                _until(r["best_before"], today),
            ]
            for r in rows
        ],
        right=["Left g"],
        whole=["Lot", "Left g"],
        empty="none; enter one with: soapstock receive INGREDIENT --mass ...",
    )
    _caution(row["ingredient"] for row in rows)


def _caution(items: Iterable[str]) -> None:
    """The cautions, when lye is among the things listed."""
    if any(item in ("naoh", "koh") for item in items):
        say(caution_line())


def _until(day: date | None, today: date) -> str:
    """A best-before with its year, and a word when it has passed."""
    if day is None:
        return ""
    return day.isoformat() + (" EXPIRED" if day < today else "")
