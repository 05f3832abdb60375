"""`stock`, `lots`, `place ...`, `level` and `samples`: what is where."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import TYPE_CHECKING, Annotated

import typer

from soapstock.cli.frame.output import caution_line, emit, say, table, table_of, tell_entered
from soapstock.cli.frame.session import AsCsv, AsJson, desk, session
from soapstock.units import pounds_too, pounds_words

if TYPE_CHECKING:
    from soapstock.views.stock import StockRow


def stock(ctx: typer.Context, as_json: AsJson = False, as_csv: AsCsv = False) -> None:
    from soapstock.views import stock as stock_views

    with desk(ctx) as opened:
        rows = stock_views.stock(opened)
    if emit(rows, as_json=as_json, as_csv=as_csv):
        return
    bars = [row for row in rows if row.unit == "bars"]
    pounds = ["Pounds"] * pounds_too()
    first = {row.lot: n for n, row in reversed(list(enumerate(bars)))}
    table(
        "Bars",
        ["Lot", "Recipe", "Place", "Bars", "Kept", "Free"],
        [
            [*_stock_cells(row), *_kept_cells(row, first[row.lot] == n)]
            for n, row in enumerate(bars)
        ],
        right=["Bars", "Kept", "Free"],
        whole=["Lot"],
        empty="none in stock",
    )
    table(
        "Ingredients",
        ["Lot", "Ingredient", "Place", "g", *pounds],
        [_stock_cells(row) for row in rows if row.unit == "g"],
        right=["g", *pounds],
        whole=["Lot", "Ingredient"],
        empty="none in stock; receive one first",
    )
    _caution(row.item for row in rows)


def _stock_cells(row: StockRow) -> list[str]:
    pounds = [pounds_words(row.quantity)] if row.unit == "g" and pounds_too() else []
    return [row.lot.shown, row.item, row.place, f"{row.quantity:,}", *pounds]


def _kept_cells(row: StockRow, first: bool) -> list[str]:
    """Bars kept and free of the whole lot, beside its first place."""
    if not first or row.lot_free is None:
        return ["", ""]
    return [str(row.lot_kept or ""), str(row.lot_free)]


def lots(
    ctx: typer.Context,
    ingredient: Annotated[str | None, typer.Argument(help="Of one ingredient only.")] = None,
    everything: Annotated[bool, typer.Option("--all", help="Used-up lots too.")] = False,
    as_json: AsJson = False,
    as_csv: AsCsv = False,
) -> None:
    from soapstock.views import stock as stock_views

    with desk(ctx) as opened:
        rows = stock_views.ingredient_lots(opened, ingredient, everything=everything)
    if emit(rows, as_json=as_json, as_csv=as_csv):
        return
    today = session(ctx).today
    pounds = ["Pounds"] * pounds_too()
    table(
        "Ingredient lots",
        ["Lot", "Ingredient", "From", "Their lot", "Left g", *pounds, "Best before"],
        [
            [
                r.lot.shown,
                r.ingredient,
                r.supplier,
                r.supplier_lot,
                f"{r.left_g:,.0f}",
                *([pounds_words(r.left_g)] if pounds else []),
                "ON HOLD" if r.hold else _until(r.best_before, today),
            ]
            for r in rows
        ],
        right=["Left g", *pounds],
        whole=["Lot", "Ingredient", "Left g", *pounds],
        spare=["From", "Their lot"],
        empty="none; enter one with: soapstock receive INGREDIENT --mass ...",
    )
    _caution(row.ingredient for row in rows)


def _caution(items: Iterable[str]) -> None:
    """The cautions, when lye is among the things listed."""
    if any(item in ("naoh", "koh") for item in items):
        say(caution_line())


def _until(day: date | None, today: date) -> str:
    """A best-before with its year, and a word when it has passed."""
    if day is None:
        return ""
    return day.isoformat() + (" EXPIRED" if day < today else "")


def place_add(
    ctx: typer.Context,
    name: Annotated[str, typer.Argument(metavar="NAME", help="Such as rack-2.")],
    kind: Annotated[str, typer.Argument(metavar="KIND", help="rack, shelf or store.")],
    capacity: Annotated[int | None, typer.Option(help="How many bars it holds.")] = None,
) -> None:
    from soapstock.enter import stock as enter_stock

    with desk(ctx) as opened:
        done = enter_stock.add_place(opened, name, kind, capacity)
    tell_entered(done)


def place_list(ctx: typer.Context, as_json: AsJson = False, as_csv: AsCsv = False) -> None:
    from soapstock.views import stock as stock_views

    with desk(ctx) as opened:
        rows = stock_views.places(opened)
    if not emit(rows, as_json=as_json, as_csv=as_csv):
        keys = ["place", "kind", "bars", "capacity", "room"]
        table_of("Places", rows, keys, right=["bars", "capacity", "room"], empty="none")


def level(
    ctx: typer.Context,
    item: Annotated[str, typer.Argument(metavar="ITEM", help="An ingredient or a recipe code.")],
    amount: Annotated[str, typer.Argument(metavar="AMOUNT", help="A mass, or bars; 0g ends it.")],
) -> None:
    from soapstock.enter import stock as enter_stock

    with desk(ctx) as opened:
        done = enter_stock.set_level(opened, item, amount)
    tell_entered(done)


def samples(ctx: typer.Context, as_json: AsJson = False, as_csv: AsCsv = False) -> None:
    from soapstock.views import stock as stock_views

    with desk(ctx) as opened:
        rows = stock_views.samples(opened)
    if not emit(rows, as_json=as_json, as_csv=as_csv):
        keys = ["lot", "recipe", "poured_on", "retained", "finding"]
        table_of("Retained samples", rows, keys, right=["retained"], empty="none")
