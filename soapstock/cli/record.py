"""`record`: a batch's record on paper."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from soapstock.cli.frame.output import NAMES_CUSTOMERS, say, say_notes
from soapstock.cli.frame.session import Lot, desk
from soapstock.units import several


def record(
    ctx: typer.Context,
    lot: Lot,
    out: Annotated[Path | None, typer.Option("--out", metavar="FILE.pdf", help="Where to.")] = None,
) -> None:
    """Gaps are shown as gaps."""
    from soapstock.papers import batch_record

    with desk(ctx) as opened:
        done = batch_record.write_record(opened, lot, out)
    say(f"Wrote {done.path} ({several(done.pages, 'page')}).")
    if done.names_customers:
        say(NAMES_CUSTOMERS)
    if done.gaps:
        say("Gaps:")
        say_notes(done.gaps)
