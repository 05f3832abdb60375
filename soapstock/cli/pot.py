"""`recipe pot`: what is known of the next pot before it is mixed."""

from __future__ import annotations

from typing import Annotated

import typer

from soapstock.cli.frame.output import emit_record, say, say_notes
from soapstock.cli.frame.session import AsJson, desk, offer_recipes
from soapstock.units import parse_temperature_c


def recipe_pot(
    ctx: typer.Context,
    code: Annotated[
        str,
        typer.Argument(
            metavar="CODE", help="Recipe code, such as DRF.", autocompletion=offer_recipes
        ),
    ],
    temp: Annotated[
        str | None,
        typer.Option("--temp", metavar="TEMP", help="Lye and fats when they meet; else as usual."),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Trace is learnt from your own pours: pour --trace MINUTES, and --seized."""
    from soapstock.views.trace import memory_words, pot_memory

    at_c = parse_temperature_c(temp, "--temp") if temp is not None else None
    with desk(ctx) as opened:
        found = pot_memory(opened, code, temp_c=at_c)
    if as_json:
        emit_record(found)
        return
    say(f"The next pot of {code.upper()}:")
    say_notes(memory_words(found))
