"""`want add | list`: who waits for bars."""

from __future__ import annotations

from typing import Annotated

import typer

from soapstock.cli.frame.output import emit, table_of, tell_entered
from soapstock.cli.frame.session import AsCsv, AsJson, desk


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
