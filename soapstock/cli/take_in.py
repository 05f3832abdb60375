"""`take-in`: a shop that was handed over becomes a shop again."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from soapstock.cli.frame.output import say
from soapstock.cli.frame.session import shop_folder
from soapstock.errors import BadInput
from soapstock.units import several


def take_in(
    ctx: typer.Context,
    what: Annotated[Path, typer.Argument(metavar="DIR", help="A folder that hand-over wrote.")],
) -> None:
    """Makes a new shop in --shop DIR of a folder that was handed over, and proves it equal."""
    from soapstock.upkeep.hand_over import is_handed_over, take_over

    if not is_handed_over(what):
        raise BadInput(f"{what} was not handed over", hint="name a folder that was")
    into = shop_folder(ctx)
    done = take_over(what, into)
    say(
        f"Made a shop in {into} of {several(done.entries, 'entry')} "
        f"({several(done.rows, 'row')}); it is the ledger that was handed over, hash for hash."
    )
