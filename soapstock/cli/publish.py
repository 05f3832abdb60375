"""`publish DIR`: the public pages behind the codes on the bars."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from soapstock.cli.frame.output import emit_record, say, say_notes
from soapstock.cli.frame.session import AsJson, desk
from soapstock.errors import BadInput
from soapstock.units import several


def publish(
    ctx: typer.Context,
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="Where the pages go.")],
    check: Annotated[
        bool, typer.Option("--check", help="Write nothing; tell what would change.")
    ] = False,
    if_recalled: Annotated[
        str | None,
        typer.Option("--if-recalled", metavar="LOT", help="With --check: as if it were recalled."),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Put the folder on your web address: each label's code then opens its lot's page.

    Only lots that were released have a page; held and recalled lots say so on top. Nothing of
    customers, suppliers, prices, people or notes is written.
    """
    from soapstock.papers import publish as papers

    if if_recalled is not None and not check:
        raise BadInput("--if-recalled only looks", hint="give --check with it")
    with desk(ctx) as opened:
        done = papers.publish(opened, folder, check=check, if_recalled=if_recalled)
    if as_json:
        emit_record(
            {
                "lots": done.lots,
                "written": list(done.written),
                "removed": list(done.removed),
                "unchanged": done.unchanged,
                "left_out": list(done.left_out),
                "check": check,
            }
        )
        return
    would = "would be " if check else ""
    lots, pages = several(done.lots, "lot"), several(len(done.written), "page")
    say(
        f"{lots} told; {pages} {would}written, {len(done.removed)} {would}removed, "
        f"{done.unchanged} unchanged: {folder}"
    )
    if check:
        say_notes([*done.written[:MOST_SHOWN], *(f"gone: {path}" for path in done.removed)])
        if len(done.written) > MOST_SHOWN:
            say(f"... and {len(done.written) - MOST_SHOWN} more; --json lists all.")
    if done.left_out:
        say("Left out:")
        say_notes(done.left_out)


MOST_SHOWN = 30
