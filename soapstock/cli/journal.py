"""`journal`: the accountant's journal of a span of days."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from soapstock.cli.frame.output import NAMES_CUSTOMERS, emit_record, say, say_notes, table
from soapstock.cli.frame.session import AsJson, desk, parse_day
from soapstock.units import several

if TYPE_CHECKING:
    from soapstock.views.journal import Journal


def journal(
    ctx: typer.Context,
    out: Annotated[
        Path | None, typer.Argument(metavar="[FILE.csv]", help="Write every line there.")
    ] = None,
    first: Annotated[
        str | None, typer.Option("--from", metavar="DATE", help="First day; else 1 January.")
    ] = None,
    last: Annotated[
        str | None, typer.Option("--to", metavar="DATE", help="Last day; else today.")
    ] = None,
    chart: Annotated[
        Path | None,
        typer.Option("--chart", metavar="FILE.csv", help="Write the chart of accounts there."),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Each line has the account that takes, the one that gives, and one amount.

    Set [accounts] in shop.toml for the names your accountant uses.
    """
    from soapstock.outfile import check_writable
    from soapstock.papers.journal import write_chart, write_journal
    from soapstock.views.journal import journal as asked

    for path in filter(None, (out, chart)):
        check_writable(path, ".csv")
    with desk(ctx) as opened:
        end = parse_day(last, "--to") if last else opened.today
        begin = parse_day(first, "--from") if first else date(end.year, 1, 1)
        told = asked(opened, begin, end)
    wrote = []
    if out is not None:
        wrote.append(f"Wrote {out}: {several(write_journal(told, out), 'line')}. {NAMES_CUSTOMERS}")
    if chart is not None:
        wrote.append(f"Wrote {chart}: {several(write_chart(told, chart), 'account')}.")
    if as_json:
        emit_record(told)
        return
    _print(told)
    for line in wrote:
        say(line)


def _print(told: Journal) -> None:
    from soapstock.views.words import NO_TAX_ADVICE

    heads = ["Account", "Debit", "Credit", "Balance"]
    table(
        f"{told.first} to {told.last}",
        heads,
        [
            [f"{r.account}, {r.currency}", str(r.debit), str(r.credit), str(r.balance)]
            for r in told.sums
        ],
        right=heads[1:],
        empty="nothing to book",
    )
    notes = ["cost of what was sold is as it is known on the last day"]
    if told.unpriced:
        notes.append(f"{several(told.unpriced, 'bar')} left without a price: they bring in nothing")
    if told.unknown:
        notes.append(f"no cost on record for {', '.join(told.unknown)}: they count for nothing")
    say_notes(notes)
    say(NO_TAX_ADVICE)
