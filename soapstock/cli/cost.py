"""`cost` and `spend`: what a lot cost, and what was spent on it."""

from __future__ import annotations

from typing import Annotated

import typer

from soapstock.cli.frame.output import (
    caution_line,
    emit_record,
    say,
    say_notes,
    table,
    tell_entered,
)
from soapstock.cli.frame.session import AsJson, Lot, Note, On, day_or_none, desk
from soapstock.units import several


def cost(ctx: typer.Context, lot: Lot, as_json: AsJson = False) -> None:
    """It is followed from lot to lot: fat through the kettle, everything through the pot.

    The good bars carry all of it but those kept back. Set [costs] in shop.toml for your own fat,
    work, energy and packing; soapstock spend records them.
    """
    from soapstock.money.share import amount
    from soapstock.views.cost import cost_of, cost_row

    with desk(ctx) as opened:
        sheet = cost_of(opened, lot)
    if as_json:
        emit_record(cost_row(sheet))
        return
    rows = [
        [
            line.name,
            "" if line.lot_code is None else line.lot_code.shown,
            line.used,
            "not known" if line.cents is None else str(amount(line.cents)),
        ]
        for line in sheet.lines
    ]
    table(
        f"Cost of {sheet.lot_code.shown}, {sheet.currency}",
        ["Part", "Lot", "Used", "Cost"],
        rows,
        right=["Used", "Cost"],
        whole=["Lot"],
        empty="nothing on record",
    )
    say(f"All of it: {amount(sheet.cents)} {sheet.currency}")
    if sheet.per_piece is not None:
        each = f"{sheet.per_piece} {sheet.currency}"
        bars = several(int(sheet.pieces), "bar")
        said = f"A good bar: {each}, over {bars}" if sheet.kind == "batch" else f"A kg: {each}"
        say(said)
    if sheet.unknown:
        say_notes([f"no cost on record for {', '.join(sheet.unknown)}: the sum lacks it"])
    if sheet.kind == "batch":
        say(caution_line())


def spend(
    ctx: typer.Context,
    lot: Annotated[str, typer.Argument(metavar="LOT", help="Lot, or - for the whole shop.")],
    on_what: Annotated[
        str, typer.Argument(metavar="WHAT", help="work, packing, energy, fees or other.")
    ],
    amount: Annotated[
        str, typer.Argument(metavar="AMOUNT", help="Money as 4.20; for work, minutes as 95.")
    ],
    on: On = None,
    note: Note = "",
) -> None:
    """What is on record for a batch takes the place of the setting in shop.toml.

    A market's fee or a parcel's postage is for the whole shop: it is no cost of a bar.
    """
    from soapstock.enter.money import spend as enter_spent

    with desk(ctx) as opened:
        done = enter_spent(opened, lot, on_what, amount, on=day_or_none(on), note=note)
    tell_entered(done)
