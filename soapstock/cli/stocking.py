"""`place ...`, `level`, `warnings`, `labels ...` and `samples`: stock and what to look after."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated, Any

import typer

from soapstock.cli.output import cells, emit, say, table
from soapstock.cli.session import AsCsv, AsJson, Lot, desk

place = typer.Typer(no_args_is_help=True, help="Places where stock can be.")
labels = typer.Typer(no_args_is_help=True, help="Labels counted against bars.")


def register(app: typer.Typer) -> None:
    """Add the commands of this file."""
    place.command("add")(add_place)
    place.command("list")(list_places)
    labels.command("count")(count_labels)
    labels.command("check")(check_labels)
    app.add_typer(place, name="place")
    app.add_typer(labels, name="labels")
    app.command("level")(level)
    app.command("warnings")(warnings)
    app.command("samples")(samples)


def _show(
    title: str, rows: Sequence[dict[str, Any]], keys: list[str], right: list[str], empty: str
) -> None:
    heads = [key.replace("_", " ").capitalize() for key in keys]
    table(title, heads, [cells(row, keys) for row in rows],
          right=[key.replace("_", " ").capitalize() for key in right], whole=["Lot"],
          empty=empty)  # fmt: skip


def add_place(
    ctx: typer.Context,
    name: Annotated[str, typer.Argument(metavar="NAME", help="Such as rack-2.")],
    kind: Annotated[str, typer.Argument(metavar="KIND", help="rack, shelf or store.")],
    capacity: Annotated[int | None, typer.Option(help="How many bars it holds.")] = None,
) -> None:
    """Add a place; with a capacity it takes no more bars than that."""
    from soapstock.enter import stock

    with desk(ctx) as opened:
        done = stock.add_place(opened, name, kind, capacity)
    say(f"{done.said} (entry {done.entry_id})")


def list_places(ctx: typer.Context, as_json: AsJson = False, as_csv: AsCsv = False) -> None:
    """List places with the bars there and the room left."""
    from soapstock.views import stock

    with desk(ctx) as opened:
        rows = stock.places(opened)
    if not emit(rows, as_json=as_json, as_csv=as_csv):
        keys = ["place", "kind", "bars", "capacity", "room"]
        _show("Places", rows, keys, ["bars", "capacity", "room"], "none")


def level(
    ctx: typer.Context,
    item: Annotated[str, typer.Argument(metavar="ITEM", help="An ingredient or a recipe code.")],
    amount: Annotated[str, typer.Argument(metavar="AMOUNT", help="A mass, or bars; 0g ends it.")],
) -> None:
    """Set how little of an ingredient or recipe calls for more."""
    from soapstock.enter import stock

    with desk(ctx) as opened:
        done = stock.set_level(opened, item, amount)
    say(f"{done.said} (entry {done.entry_id})")


def warnings(
    ctx: typer.Context,
    days: Annotated[int, typer.Option(help="Look so many days ahead.")] = 60,
    as_json: AsJson = False,
    as_csv: AsCsv = False,
) -> None:
    """List what has expired or soon will, runs low, is short for orders, and full places."""
    from soapstock.views import stock

    with desk(ctx) as opened:
        rows = stock.warnings(opened, days)
    if not emit(rows, as_json=as_json, as_csv=as_csv):
        keys = ["what", "item", "lot", "on", "left", "level"]
        _show("Look after", rows, keys, ["left", "level"], "nothing")


def count_labels(
    ctx: typer.Context,
    lot: Lot,
    printed: Annotated[int, typer.Option(help="Labels printed.")] = 0,
    spoiled: Annotated[int, typer.Option(help="Labels spoiled and thrown away.")] = 0,
    used: Annotated[int, typer.Option(help="Labels stuck on bars.")] = 0,
) -> None:
    """Count labels of a lot: printed, spoiled, used."""
    from soapstock.enter import stock

    with desk(ctx) as opened:
        done = stock.count_labels(opened, lot, printed=printed, spoiled=spoiled, used=used)
    say(f"{done.said} (entry {done.entry_id})")


def check_labels(ctx: typer.Context, as_json: AsJson = False, as_csv: AsCsv = False) -> None:
    """Set labels against bars, lot by lot, and say what does not add up."""
    from soapstock.views import stock

    with desk(ctx) as opened:
        rows = stock.reconcile(opened)
    if not emit(rows, as_json=as_json, as_csv=as_csv):
        keys = ["lot", "printed", "spoiled", "used", "left", "bars_made", "shipped", "finding"]
        _show("Labels", rows, keys, keys[1:7], "none counted yet")


def samples(ctx: typer.Context, as_json: AsJson = False, as_csv: AsCsv = False) -> None:
    """List retained samples, and batches that shipped without any."""
    from soapstock.views import stock

    with desk(ctx) as opened:
        rows = stock.samples(opened)
    if not emit(rows, as_json=as_json, as_csv=as_csv):
        keys = ["lot", "recipe", "poured_on", "retained", "finding"]
        _show("Retained samples", rows, keys, ["retained"], "none")
