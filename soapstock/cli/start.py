"""`start`: a new shop."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from soapstock.cli.frame.output import say, say_notes
from soapstock.units import parse_mass_g


def start(
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="Folder to make the shop in.")],
    maker: Annotated[str, typer.Option(help="Maker's name as the label gives it.")],
    address: Annotated[
        list[str] | None, typer.Option(help="One line of the address; repeat for more.")
    ] = None,
    contact: Annotated[str, typer.Option(help="Telephone, e-mail or web page.")] = "",
    market: Annotated[
        str, typer.Option(help="Whose label rules hold; `rules` lists the markets.")
    ] = "us-soap",
    web: Annotated[str, typer.Option(help="Web address for the QR code.")] = "",
    scale_step: Annotated[str, typer.Option(help="Smallest step of the batch scale.")] = "1g",
    cure_days: Annotated[int, typer.Option(help="Cure days when a recipe does not say.")] = 28,
    paper: Annotated[str, typer.Option(help="a4 or letter.")] = "letter",
    by: Annotated[str, typer.Option(help="Who usually enters facts.")] = "",
) -> None:
    from soapstock.shop import Shop
    from soapstock.upkeep.start import start_shop

    shop = start_shop(
        Shop(
            folder=folder,
            maker=maker,
            address=tuple(address or ()),
            contact=contact,
            market=market,
            web=web,
            scale_step_g=parse_mass_g(scale_step, "--scale-step"),
            default_cure_days=cure_days,
            paper=paper,
            sheet="a4-2x4" if paper == "a4" else "letter-2x3",
            by=by,
        )
    )
    say(f"Shop made in {shop.folder}.")
    missing = [] if shop.address else ["No address yet: labels need it; add it in shop.toml."]
    say_notes(
        [
            *missing,
            f"Look over {shop.folder / 'shop.toml'}.",
            "Then add a recipe (soapstock recipe add FILE.toml) and receive your ingredients.",
        ]
    )
