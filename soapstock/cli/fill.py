"""`recipe fill`: how much into each cup, or what to declare."""

from __future__ import annotations

from typing import Annotated

import typer

from soapstock.cli.frame.output import emit_record, say, say_notes
from soapstock.cli.frame.session import AsJson, desk, offer_recipes
from soapstock.units import parse_mass_g


def recipe_fill(
    ctx: typer.Context,
    code: Annotated[
        str,
        typer.Argument(
            metavar="CODE", help="Recipe code, such as DRF.", autocompletion=offer_recipes
        ),
    ],
    declare: Annotated[
        str | None,
        typer.Option("--declare", metavar="MASS", help="Weight to sell at; else the recipe's."),
    ] = None,
    cup: Annotated[
        str | None, typer.Option("--cup", metavar="MASS", help="What a cup holds: what to declare?")
    ] = None,
    pot: Annotated[
        str | None, typer.Option("--pot", metavar="MASS", help="Batter: how many cups, how full?")
    ] = None,
    water: Annotated[
        str | None,
        typer.Option("--water", metavar="TEXT", help='What if the water were "1.8 per lye"?'),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """It reckons with drying until the best-before date and with how evenly you fill."""
    from soapstock.views import fill

    masses = [
        float(parse_mass_g(text, name)) if text is not None else None
        for text, name in ((declare, "--declare"), (cup, "--cup"), (pot, "--pot"))
    ]
    with desk(ctx) as opened:
        found = fill.fill(
            opened, code, declared_g=masses[0], cup_g=masses[1], pot_g=masses[2], water=water
        )
    if as_json:
        emit_record(fill.record(found))
        return
    say(fill.sentence(found))
    say_notes(fill.reasons(found))
