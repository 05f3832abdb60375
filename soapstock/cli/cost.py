"""`cost`: what a batch and a bar of it cost."""

from __future__ import annotations

from decimal import Decimal
from typing import Annotated

import typer

from soapstock.cli.frame.output import caution_line, emit_record, say, say_notes, table
from soapstock.cli.frame.session import AsJson, Lot, desk
from soapstock.units import format_g, several


def cost(
    ctx: typer.Context,
    lot: Lot,
    packing: Annotated[str, typer.Option(help="Packing of the whole batch, as 5.27.")] = "",
    labour: Annotated[str, typer.Option(help="Work on the whole batch, as 18.00.")] = "",
    as_json: AsJson = False,
) -> None:
    """It is counted from the lots the batch used."""
    from soapstock.enter.receive import cents
    from soapstock.recipes.cost import money
    from soapstock.views.cost import cost_of, cost_record

    def amount(text: str) -> Decimal:
        return Decimal(cents(text) or 0) / 100

    with desk(ctx) as opened:
        costed = cost_of(opened, lot, packing=amount(packing), labour=amount(labour))
    record = cost_record(costed)
    if as_json:
        emit_record(record)
        return
    rows = [
        [p.name, format_g(p.used_g), f"{money(p.cost):.2f}" if p.cost is not None else "not known"]
        for p in costed.parts
    ]
    for name, text in (("packing", packing), ("labour", labour)):
        if text:
            rows.append([name, "", f"{amount(text):.2f}"])
    table(
        f"Cost of {record['lot']}, {costed.currency}",
        ["Part", "Used", "Cost"],
        rows,
        right=["Used", "Cost"],
    )
    say(f"Whole batch: {record['total']:.2f} {costed.currency}")
    if record["per_bar"] is not None:
        each = f"{record['per_bar']:.2f} {costed.currency}"
        say(f"A good bar: {each}, over {several(costed.bars, 'bar')}")
    if record["unknown"]:
        say_notes([f"no cost on record for {', '.join(record['unknown'])}: the sum lacks it"])
    say(caution_line())
