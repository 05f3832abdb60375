"""`invoice ...`: invoices, receipts and credit notes."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from soapstock.cli.frame.output import NAMES_CUSTOMERS, emit, say, table, tell_entered
from soapstock.cli.frame.session import AsCsv, AsJson, On, day_or_none, desk

if TYPE_CHECKING:
    from soapstock.views.invoices import InvoiceRow

Number = Annotated[str, typer.Argument(metavar="NUMBER", help="Its number, as 2026-0001.")]
Pdf = Annotated[Path, typer.Argument(metavar="FILE.pdf", help="Where to write it.")]
OutPdf = Annotated[
    Path | None, typer.Option("--out", metavar="FILE.pdf", help="Print it there as well.")
]


def invoice_give(
    ctx: typer.Context,
    order: Annotated[str, typer.Argument(metavar="[ORDER]", help="Over this order.")] = "",
    to: Annotated[
        str, typer.Option(metavar="CUSTOMER", help="Over all of theirs that is not invoiced.")
    ] = "",
    entry: Annotated[
        int | None, typer.Option(metavar="ENTRY", help="Over what one entry shipped.")
    ] = None,
    address: Annotated[str, typer.Option(help="Their address on it.")] = "",
    paid: Annotated[
        str, typer.Option(metavar="HOW", help="Paid by cash, card ...: it is a receipt.")
    ] = "",
    due: Annotated[
        str | None, typer.Option(metavar="DATE", help="Day it is to be paid by.")
    ] = None,
    out: OutPdf = None,
    on: On = None,
) -> None:
    """It takes the next number of its year. Once given it stands: a credit note takes it back."""
    from soapstock.enter.invoice import write_invoice
    from soapstock.outfile import check_writable
    from soapstock.papers import invoice as papers

    if out is not None:
        check_writable(out, ".pdf")
    with desk(ctx) as opened:
        done, given = write_invoice(
            opened,
            order,
            customer=to,
            entry=entry,
            address=address,
            paid=paid,
            due_on=day_or_none(due, "--due"),
            on=day_or_none(on),
        )
        tell_entered(done)
        if out is not None:
            papers.write_invoice(opened, given.shown, out)
            say(f"Wrote {out}. {NAMES_CUSTOMERS}")


def invoice_credit(
    ctx: typer.Context,
    number: Number,
    why: Annotated[str, typer.Option(help="What was wrong; it is printed.")],
    out: OutPdf = None,
    on: On = None,
) -> None:
    """It takes the whole invoice back; what stays sold is invoiced anew."""
    from soapstock.enter.invoice import credit
    from soapstock.outfile import check_writable
    from soapstock.papers import invoice as papers

    if out is not None:
        check_writable(out, ".pdf")
    with desk(ctx) as opened:
        done, given = credit(opened, number, why, on=day_or_none(on))
        tell_entered(done)
        if out is not None:
            papers.write_invoice(opened, given.shown, out)
            say(f"Wrote {out}. {NAMES_CUSTOMERS}")


def invoice_print(ctx: typer.Context, number: Number, out: Pdf) -> None:
    from soapstock.papers import invoice as papers

    with desk(ctx) as opened:
        papers.write_invoice(opened, number, out)
    say(f"Wrote {out}. {NAMES_CUSTOMERS}")


def invoice_list(ctx: typer.Context, as_json: AsJson = False, as_csv: AsCsv = False) -> None:
    from soapstock.views.invoices import invoice_list as listed

    with desk(ctx) as opened:
        rows = listed(opened)
    if emit(rows, as_json=as_json, as_csv=as_csv):
        return
    table(
        "Invoices",
        ["Number", "What", "Date", "Customer", "Total", "State"],
        [[r.number, r.kind, str(r.on), r.customer, str(r.total), _state(r)] for r in rows],
        right=["Total"],
        whole=["Number", "Date"],
        empty="none given",
    )


def _state(row: InvoiceRow) -> str:
    if row.credited_by:
        return f"taken back by {row.credited_by}"
    if row.paid:
        return f"paid: {row.paid}"
    return "" if row.due_on is None else f"due {row.due_on}"
