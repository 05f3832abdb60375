"""`recall`: what a recall of a lot would reach."""

from __future__ import annotations

import time
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from soapstock.cli.frame.output import NAMES_CUSTOMERS, emit_record, say, say_notes, table
from soapstock.cli.frame.session import AsJson, Lot, desk

if TYPE_CHECKING:
    from soapstock.views.follow import RecallDone


def recall(
    ctx: typer.Context,
    lot: Lot,
    practice: Annotated[bool, typer.Option("--practice", help="Record it as a practice.")] = False,
    hold: Annotated[
        bool, typer.Option("--hold", help="For real: put every affected lot on hold.")
    ] = False,
    why: Annotated[str, typer.Option(help="The reason, with --hold.")] = "",
    hazard: Annotated[
        str, typer.Option(help="With --hold: what is wrong, as customers will read it.")
    ] = "",
    remedy: Annotated[
        str, typer.Option(help="With --hold: what buyers get, as they will read it.")
    ] = "",
    customers: Annotated[
        Path | None, typer.Option("--customers", metavar="FILE.csv", help="Whom to tell, as CSV.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """It lists lots, bars by place, customers, and the share of bars accounted for."""
    from soapstock.enter import recall as enter_recall
    from soapstock.outfile import check_writable
    from soapstock.papers import recall as recall_papers
    from soapstock.views import follow as follow_views

    if customers is not None:
        check_writable(customers, ".csv")
    with desk(ctx) as opened:
        done = enter_recall.recall(
            opened,
            lot,
            clock=time.perf_counter,
            practice=practice,
            hold=hold,
            why=why,
            hazard=hazard,
            remedy=remedy,
        )
        if customers is not None:
            recall_papers.write_customers(customers, done.customers)
    if as_json:
        emit_record(follow_views.done_row(done))
        return
    _print_recall(done)
    if customers is not None:
        say(f"Wrote {customers}. {NAMES_CUSTOMERS}")


def _print_recall(done: RecallDone) -> None:

    rows = [
        [
            a.lot.lot_code.shown,
            a.lot.item,
            str(a.made),
            ", ".join(f"{n} {place}" for place, n in a.places.items()),
            str(a.rebatched),
            str(a.unaccounted),
        ]
        for a in done.found.affected
    ]
    heads = ["Lot", "Recipe", "Made", "Where the bars are", "Rebatched", "Unknown"]
    table(
        "Affected lots",
        heads,
        rows,
        right=["Made", "Rebatched", "Unknown"],
        whole=["Lot"],
        spare=["Rebatched"],
        empty="no soap was made from it",
    )
    tell = [
        [
            c.customer,
            c.lot.shown,
            str(c.bars),
            c.shipped_on.isoformat(),
            c.order,
            c.contact or c.destination,
        ]
        for c in done.customers
    ]
    table(
        "Customers to tell",
        ["Customer", "Lot", "Bars", "Shipped", "Order", "Reach"],
        tell,
        right=["Bars"],
        whole=["Lot", "Shipped"],
        spare=["Order"],
        empty="nobody received any",
    )
    say(
        f"{done.found.accounted_percent:.1f} % of the bars made are accounted for. "
        f"Found in {done.seconds:.2f} s."
    )
    if done.may_hold:
        say(
            "Poured before the ledger with the same ingredient, of no known lot; think of these "
            "too: " + ", ".join(code.shown for code in done.may_hold)
        )
    if done.held:
        say("Put on hold: " + ", ".join(code.shown for code in done.held))
    if done.entry_id is not None:
        say(f"Recorded (entry {done.entry_id}).")
    elif done.found.affected:
        say_notes(["This was only asked: --practice records it, --hold acts."])
