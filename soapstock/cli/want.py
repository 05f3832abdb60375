"""`want add | list | order`: who waits for bars, and a launch."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

import typer

from soapstock.cli.frame.output import NAMES_CUSTOMERS, emit, say, table, table_of, tell_entered
from soapstock.cli.frame.session import AsCsv, AsJson, day_or_none, desk, offer_recipes
from soapstock.units import several

if TYPE_CHECKING:
    from soapstock.views.launch import ShareRow


def want_add(
    ctx: typer.Context,
    who: Annotated[str, typer.Argument(metavar="NAME", help="Who waits.")],
    what: Annotated[str, typer.Argument(metavar="CODE=BARS", help="Such as DRF=4; 0 ends it.")],
    contact: Annotated[str, typer.Option(help="How to reach them.")] = "",
) -> None:
    from soapstock.enter.orders import want

    with desk(ctx) as opened:
        done = want(opened, who, what, contact=contact)
    tell_entered(done)


def want_list(ctx: typer.Context, as_json: AsJson = False, as_csv: AsCsv = False) -> None:
    """It tells whom to write to: those whose bars are there now, orders served first."""
    from soapstock.views.orders import waiting

    with desk(ctx) as opened:
        rows = waiting(opened)
    if not emit(rows, as_json=as_json, as_csv=as_csv):
        keys = ["customer", "recipe", "bars", "there_now", "contact"]
        table_of("Waiting", rows, keys, right=["bars"], empty="nobody")


def want_order(
    ctx: typer.Context,
    recipes: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="RECIPE", help="Of these alone; else of all.", autocompletion=offer_recipes
        ),
    ] = None,
    how: Annotated[
        Literal["fair", "first"] | None,
        typer.Option("--shares", help="When bars are short: even shares, or who came first."),
    ] = None,
    wanted: Annotated[
        str | None,
        typer.Option(
            "--wanted-by", metavar="DATE", help="Share what is free by that day; else what is now."
        ),
    ] = None,
    messages: Annotated[
        Path | None,
        typer.Option("--messages", metavar="FILE.csv", help="Whom to write and what they get."),
    ] = None,
    trial: Annotated[bool, typer.Option("--try", help="Show it, and enter nothing.")] = False,
    as_json: AsJson = False,
    as_csv: AsCsv = False,
) -> None:
    """Everybody who gets bars has an order of their own; what they do not get stays waited for."""
    from soapstock.enter.launch import launch
    from soapstock.outfile import check_writable
    from soapstock.papers.launch import write_messages
    from soapstock.views import launch as launches

    if messages is not None:
        check_writable(messages, ".csv")
    with desk(ctx) as opened:
        share = launches.shares if trial else launch
        rows = share(opened, recipes or [], how, day_or_none(wanted, "--wanted-by"))
        if messages is not None:
            write_messages(messages, rows)
    if not emit(rows, as_json=as_json, as_csv=as_csv):
        _print_shares(rows, trial=trial)
        if messages is not None:
            say(f"Wrote {messages}. {NAMES_CUSTOMERS}")


def _print_shares(rows: list[ShareRow], *, trial: bool) -> None:
    heads = ["Customer", "Soap", "Asked", "Gets", "Waits", "Order"]
    shown = [
        [r.customer, r.soap, str(r.asked), str(r.gets), str(r.still_waits), r.order] for r in rows
    ]
    table("Launch", heads, shown, right=heads[2:5], whole=heads[4:])
    orders = several(len({row.order for row in rows} - {""}), "order")
    bars = several(sum(row.gets for row in rows), "bar")
    say(f"{'Would make' if trial else 'Made'} {orders} of {bars}.")
