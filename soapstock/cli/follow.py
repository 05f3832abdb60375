"""`follow`: where a lot came from and whom it reached."""

from __future__ import annotations

import typer

from soapstock.cli.frame.output import emit_record, table
from soapstock.cli.frame.session import AsJson, Lot, desk


def follow(ctx: typer.Context, lot: Lot, as_json: AsJson = False) -> None:
    """It goes back to suppliers and animals, and on to bars, orders and customers."""
    from soapstock.views import follow as follow_views

    with desk(ctx) as opened:
        found = follow_views.follow(opened, lot)
    if as_json:
        emit_record(follow_views.follow_row(found))
        return
    for title, lots in (("Made from", found.back), ("Became", found.forward)):
        rows = [
            [
                str(x.depth),
                x.lot_code.shown,
                x.item,
                x.opened_on.isoformat(),
                " ".join(filter(None, (x.origin, x.origin_lot and f"(lot {x.origin_lot})"))),
            ]
            for x in lots
            if x.depth
        ]
        table(
            title,
            ["Step", "Lot", "What", "On", "Origin"],
            rows,
            whole=["Lot", "On"],
            empty="nothing",
        )
    rows = [
        [s.on.isoformat(), s.lot_code.shown, str(s.bars), s.customer, s.order_ref]
        for s in found.shipments
    ]
    table(
        "Shipped",
        ["On", "Lot", "Bars", "Customer", "Order"],
        rows,
        right=["Bars"],
        whole=["On", "Lot"],
        empty="to nobody",
    )
