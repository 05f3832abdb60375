"""`demo`: the invented shop, built and shown."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from soapstock.cli.frame.output import say, say_notes


def demo(
    folder: Annotated[
        Path, typer.Argument(metavar="DIR", help="Folder to build the demo shop in.")
    ] = Path("soapstock-demo"),
) -> None:
    from soapstock.cli.curing import print_curing, print_ready
    from soapstock.cli.scan import tell
    from soapstock.upkeep.demo import build_demo, open_demo, print_demo
    from soapstock.views import lists

    made = build_demo(folder)
    say(f"An invented shop, {made.name}, stands in {folder} as of {made.today.isoformat()}.")
    with open_demo(folder, made) as opened:
        until = lists.week_from(opened.today)
        say("")
        print_curing(lists.curing(opened), opened.today)
        say("")
        print_ready(lists.ready(opened, until), opened.today, until)
        say("")
        tell(opened, made.scan_lot)
        say("")
        say("Printed:")
        say_notes([f"{path}: {what}" for path, what in print_demo(opened, made)])
    say("")
    say(f"Look around: soapstock --shop {folder} --today {made.today.isoformat()} curing")
