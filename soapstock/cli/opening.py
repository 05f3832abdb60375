"""`opening`: bars that were there before the ledger began."""

from __future__ import annotations

from typing import Annotated

import typer

from soapstock.cli.frame.output import caution_line, say, tell_entered
from soapstock.cli.frame.session import Note, desk, parse_day


def opening(
    ctx: typer.Context,
    recipe: Annotated[str, typer.Argument(help="Recipe code.")],
    poured: Annotated[
        str, typer.Option(metavar="DATE", help="Day of the pour, or the latest it can have been.")
    ],
    bars: Annotated[int, typer.Option(help="Bars that are there.")],
    weighed: Annotated[
        list[str] | None,
        typer.Argument(metavar="[NAME=MASS...]", help="What went in, from your notes."),
    ] = None,
    made: Annotated[
        int | None, typer.Option(help="Bars that came out of the pot, if more.")
    ] = None,
    mass: Annotated[str, typer.Option(help="What the bars there weigh today, all together.")] = "",
    place: Annotated[str, typer.Option(help="Where they are.")] = "rack",
    as_recipe: Annotated[
        bool, typer.Option("--as-recipe", help="Nobody noted the masses: take the recipe's.")
    ] = False,
    record_anyway: Annotated[
        str, typer.Option(metavar="REASON", help="Enter it, on hold, though its lye is refused.")
    ] = "",
    sure: Annotated[bool, typer.Option("--sure", help="The odd masses are right.")] = False,
    note: Note = "",
) -> None:
    """Their gates are those of any batch; of their lots nothing is known, and that is said."""
    from soapstock.enter.opening import Bars, open_bars

    with desk(ctx) as opened:
        entered = open_bars(
            opened,
            recipe,
            weighed or [],
            parse_day(poured, "--poured"),
            Bars(count=bars, made=made, mass=mass, place=place),
            as_recipe=as_recipe,
            record_anyway=record_anyway,
            sure=sure,
            note=note,
        )
    tell_entered(entered)
    say(caution_line())
