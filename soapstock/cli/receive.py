"""`receive` and `render`: an ingredient lot comes in, or is made of raw fat."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from soapstock.cli.frame.output import tell_entered
from soapstock.cli.frame.session import Note, On, best_before_or_none, day_or_none, desk
from soapstock.errors import BadInput


def receive(
    ctx: typer.Context,
    ingredient: Annotated[str, typer.Argument(help="Such as beef-tallow, naoh, kaolin.")] = "",
    mass: Annotated[
        str, typer.Option(help="Mass that came in, as 5kg; rendered fat as rendered.")
    ] = "",
    listed: Annotated[
        Path | None, typer.Option("--list", metavar="FILE.csv", help="A whole delivery.")
    ] = None,
    supplier: Annotated[str, typer.Option(help="Who supplied it.")] = "",
    lot: Annotated[str, typer.Option("--lot", help="The supplier's own lot reference.")] = "",
    cost: Annotated[str, typer.Option(help="What it cost with freight, as 24.50.")] = "",
    best_before: Annotated[
        str | None,
        typer.Option(metavar="DATE", help="Its best-before; or a month: 2027-09."),
    ] = None,
    sv: Annotated[str, typer.Option(help="Certificate SV in mg KOH/g: 196, 196±1, 194-198.")] = "",
    certificate: Annotated[str, typer.Option(help="Certificate reference.")] = "",
    animal: Annotated[str, typer.Option(help="Own rendered fat: reference of the animal.")] = "",
    raw_fat: Annotated[str, typer.Option(help="Own rendered fat: raw fat that went in.")] = "",
    acid_value: Annotated[
        float | None, typer.Option(help="Acid value of the fat, mg KOH/g, if known.")
    ] = None,
    moisture: Annotated[float | None, typer.Option(help="Water in the fat, %, if known.")] = None,
    sure: Annotated[
        bool, typer.Option("--sure", help="It is right though it looks like a slip.")
    ] = False,
    from_before: Annotated[
        bool, typer.Option("--from-before", help="It was there before the ledger began.")
    ] = False,
    on: On = None,
    note: Note = "",
) -> None:
    """With no ingredient it asks line by line, the supplier once.

    A list begins: ingredient,mass,lot,cost,best_before. All of it is received, or nothing.
    """
    from soapstock.cli.rounds.delivery import receive_all
    from soapstock.enter.delivery import receive_list
    from soapstock.enter.receive import receive as receive_lot

    if listed is not None or not ingredient:
        _refuse_one_lot(ctx, listed, ingredient)
        with desk(ctx) as opened:
            if listed is None:
                receive_all(opened, supplier, sure=sure, on=day_or_none(on), note=note)
                return
            done = receive_list(opened, listed, supplier, sure=sure, on=day_or_none(on), note=note)
        for entered in done:
            tell_entered(entered)
        return
    with desk(ctx) as opened:
        entered = receive_lot(
            opened,
            ingredient,
            mass,
            supplier=supplier,
            supplier_lot=lot,
            cost=cost,
            best_before=best_before_or_none(best_before),
            certificate_sv=sv,
            certificate=certificate,
            animal=animal,
            raw_fat=raw_fat,
            acid_value=acid_value,
            moisture_percent=moisture,
            sure=sure,
            from_before=from_before,
            on=day_or_none(on),
            note=note,
        )
    tell_entered(entered)


def _refuse_one_lot(ctx: typer.Context, listed: Path | None, ingredient: str) -> None:
    """Refuse what is said of one lot where a whole delivery is received."""
    if listed is not None and ingredient:
        raise BadInput(f"{ingredient} and a list together", hint="give one of them")
    whole = {"ingredient", "listed", "supplier", "sure", "on", "note"}
    for param in ctx.command.params:
        given = ctx.params.get(str(param.name))
        if param.name not in whole and given not in (None, "", False):
            raise BadInput(
                f"{param.opts[0]} is said of one lot", hint="name the ingredient before it"
            )


def render(
    ctx: typer.Context,
    fat: Annotated[str, typer.Argument(metavar="FAT", help="What comes out, as beef-tallow.")],
    mass: Annotated[str, typer.Option(help="Mass of the rendered fat, as 4kg.")],
    sources: Annotated[
        list[str] | None,
        typer.Option("--from", metavar="LOT=MASS", help="What went in; repeat for each lot."),
    ] = None,
    best_before: Annotated[
        str | None,
        typer.Option(metavar="DATE", help="Its best-before; or a month: 2027-09."),
    ] = None,
    acid_value: Annotated[
        float | None, typer.Option(help="Acid value of the fat, mg KOH/g, if known.")
    ] = None,
    moisture: Annotated[float | None, typer.Option(help="Water in the fat, %, if known.")] = None,
    on: On = None,
    note: Note = "",
) -> None:
    """Receive the raw fat first, as raw- and the fat's name: receive raw-beef-tallow."""
    from soapstock.enter.kettle import render as render_lot

    with desk(ctx) as opened:
        entered = render_lot(
            opened,
            fat,
            mass,
            sources or (),
            best_before=best_before_or_none(best_before),
            acid_value=acid_value,
            moisture_percent=moisture,
            on=day_or_none(on),
            note=note,
        )
    tell_entered(entered)
