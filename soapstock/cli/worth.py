"""`worth`: what bars earn."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, Annotated

import typer

from soapstock.cli.frame.output import emit, say, say_notes, table
from soapstock.cli.frame.session import AsCsv, AsJson, day_or_none, desk
from soapstock.units import several

if TYPE_CHECKING:
    from soapstock.views.worth import WorthRow


def worth(
    ctx: typer.Context,
    by: Annotated[str, typer.Option(metavar="WHAT", help="recipe, batch or buyer.")] = "recipe",
    fat: Annotated[
        str, typer.Option(metavar="FAT", help="A scarce fat: what a kg of it earns.")
    ] = "",
    wage: Annotated[
        str, typer.Option(metavar="AMOUNT", help="What an hour should earn: the price for it.")
    ] = "",
    since: Annotated[
        str | None, typer.Option(metavar="DATE", help="Only what was sold from then on.")
    ] = None,
    as_json: AsJson = False,
    as_csv: AsCsv = False,
) -> None:
    """Cost is what the sold bars cost; an hour earns what is left after all but your own work."""
    from soapstock.enter.receive import cents
    from soapstock.money.share import amount
    from soapstock.views.worth import worth as asked

    wanted = cents(wage)
    with desk(ctx) as opened:
        rows = asked(
            opened,
            by,
            fat=fat,
            wage=None if wanted is None else amount(wanted),
            since=day_or_none(since, "--since"),
        )
    if emit(rows, as_json=as_json, as_csv=as_csv):
        return
    _print(by, rows, fat)


def _print(by: str, rows: list[WorthRow], fat: str) -> None:
    from soapstock.views.words import NO_TAX_ADVICE

    heads = [by.capitalize(), "Sold", "Income", "Cost", "Margin", "Hours", "An hour"]
    shown = [
        [r.what, str(r.sold), f"{r.income}", f"{r.cost}", f"{r.margin}", f"{r.hours}", _or(r.hour)]
        for r in rows
    ]
    if fat:
        heads.append("A kg fat")
        shown = [[*cells, _or(r.a_kg_fat)] for cells, r in zip(shown, rows, strict=True)]
    if any(r.price is not None for r in rows):
        heads.append("Ask")
        shown = [[*cells, _or(r.price)] for cells, r in zip(shown, rows, strict=True)]
    table("What bars earn", heads, shown, right=heads[1:], whole=heads, empty="nothing was sold")
    unpriced = sum(r.unpriced for r in rows)
    notes = []
    if unpriced:
        notes.append(f"{several(unpriced, 'bar')} left without a price and are not counted")
    unknown = sorted({lot for r in rows for lot in r.unknown})
    if unknown:
        notes.append(f"no cost on record for {', '.join(unknown)}: margins are too high by it")
    say_notes(notes)
    say(NO_TAX_ADVICE)


def _or(value: Decimal | None) -> str:
    return "" if value is None else str(value)
