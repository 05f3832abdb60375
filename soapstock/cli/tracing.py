"""`trace`, `recall` and `record`: where a lot came from, whom it reached, and its papers."""

from __future__ import annotations

import time
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from soapstock.cli.output import emit_record, say, say_notes, table
from soapstock.cli.session import AsJson, Lot, desk

if TYPE_CHECKING:
    from soapstock.views.trace import RecallDone


def register(app: typer.Typer) -> None:
    """Add the commands of this file."""
    app.command("trace")(trace)
    app.command("recall")(recall)
    app.command("record")(record)


def trace(ctx: typer.Context, lot: Lot, as_json: AsJson = False) -> None:
    """Trace a lot both ways: to suppliers and animals, and to bars, orders and customers."""
    from soapstock.codes.lot import format_code
    from soapstock.views import trace as trace_views

    with desk(ctx) as opened:
        found = trace_views.trace(opened, lot)
    if as_json:
        emit_record(trace_views.trace_record(found))
        return
    for title, lots in (("Made from", found.back), ("Became", found.forward)):
        rows = [
            [str(x.depth), format_code(x.lot_code), x.item, x.opened_on.isoformat(),
             " ".join(filter(None, (x.origin, x.origin_lot and f"(lot {x.origin_lot})")))]
            for x in lots
            if x.depth
        ]  # fmt: skip
        table(title, ["Step", "Lot", "What", "On", "Origin"], rows, whole=["Lot", "On"],
              empty="nothing")  # fmt: skip
    rows = [
        [s.on.isoformat(), format_code(s.lot_code), str(s.bars), s.customer, s.order_ref]
        for s in found.shipments
    ]
    table("Shipped", ["On", "Lot", "Bars", "Customer", "Order"], rows, right=["Bars"],
          whole=["On", "Lot"], empty="to nobody")  # fmt: skip


def recall(
    ctx: typer.Context,
    lot: Lot,
    practice: Annotated[bool, typer.Option("--practice", help="Record it as a practice.")] = False,
    hold: Annotated[
        bool, typer.Option("--hold", help="For real: put every affected lot on hold.")
    ] = False,
    why: Annotated[str, typer.Option(help="The reason, with --hold.")] = "",
    customers: Annotated[
        Path | None, typer.Option("--customers", metavar="FILE.csv", help="Whom to tell, as CSV.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """What a recall of a lot would reach: lots, bars by place, customers, share accounted for."""
    from soapstock.enter import recall as enter_recall
    from soapstock.papers import recall as recall_papers
    from soapstock.views import trace as trace_views

    with desk(ctx) as opened:
        done = enter_recall.recall(
            opened, lot, clock=time.perf_counter, practice=practice, hold=hold, why=why
        )
        if customers is not None:
            recall_papers.write_customers(customers, done.customers)
    if as_json:
        emit_record(
            trace_views.recall_record(done.found, done.customers)
            | {"seconds": round(done.seconds, 3)}
        )
        return
    _print_recall(done)
    if customers is not None:
        say(f"Wrote {customers}")


def _print_recall(done: RecallDone) -> None:
    from soapstock.codes.lot import format_code

    rows = [
        [format_code(a.lot.lot_code), a.lot.item, str(a.made),
         ", ".join(f"{n} {place}" for place, n in a.places.items()), str(a.rebatched),
         str(a.unaccounted)]
        for a in done.found.affected
    ]  # fmt: skip
    heads = ["Lot", "Recipe", "Made", "Where the bars are", "Rebatched", "Unknown"]
    table("Affected lots", heads, rows, right=["Made", "Rebatched", "Unknown"], whole=["Lot"],
          empty="no soap was made from it")  # fmt: skip
    tell = [
        [c["customer"], c["lot"], str(c["bars"]), c["shipped_on"].isoformat(), c["order"],
         c["contact"] or c["destination"]]
        for c in done.customers
    ]  # fmt: skip
    table("Customers to tell", ["Customer", "Lot", "Bars", "Shipped", "Order", "Reach"], tell,
          right=["Bars"], whole=["Lot", "Shipped"], empty="nobody received any")  # fmt: skip
    say(f"{done.found.accounted_percent:.1f} % of the bars made are accounted for. "
        f"Found in {done.seconds:.2f} s.")  # fmt: skip
    if done.held:
        say("Put on hold: " + ", ".join(format_code(code) for code in done.held))
    if done.entry_id is not None:
        say(f"Recorded (entry {done.entry_id}).")
    elif done.found.affected:
        say_notes(["This was only asked: --practice records it, --hold acts."])


def record(
    ctx: typer.Context,
    lot: Lot,
    out: Annotated[Path | None, typer.Option("--out", metavar="FILE.pdf", help="Where to.")] = None,
) -> None:
    """Print a batch's record as PDF, from ledger facts only; gaps are shown as gaps."""
    from soapstock.papers import batch_record

    with desk(ctx) as opened:
        done = batch_record.write_record(opened, lot, out)
    say(f"Wrote {done.path} ({done.pages} pages).")
    if done.gaps:
        say("Gaps:")
        say_notes(done.gaps)
