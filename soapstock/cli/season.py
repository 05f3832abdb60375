"""`season`: a span of days on one page."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from soapstock.cli.frame.output import emit_record, say, say_notes, table
from soapstock.cli.frame.session import AsJson, desk, parse_day
from soapstock.units import several

if TYPE_CHECKING:
    from soapstock.views.season import Season


def season(
    ctx: typer.Context,
    first: Annotated[
        str | None, typer.Option("--from", metavar="DATE", help="First day; else 1 January.")
    ] = None,
    last: Annotated[
        str | None, typer.Option("--to", metavar="DATE", help="Last day; else today.")
    ] = None,
    pdf: Annotated[
        Path | None, typer.Option("--pdf", metavar="FILE.pdf", help="Print it as a page.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Poured, ready, sold, given, wasted and here; income, cost, yields, breakage, animals."""
    from soapstock.papers.season import write_season
    from soapstock.views.season import season as asked

    with desk(ctx) as opened:
        end = parse_day(last, "--to") if last else opened.today
        begin = parse_day(first, "--from") if first else date(end.year, 1, 1)
        told = asked(opened, begin, end)
        if pdf is not None:
            write_season(opened, told, pdf)
    if as_json:
        emit_record(told)
        return
    _print(told)
    if pdf is not None:
        say(f"Wrote {pdf}.")


def _print(told: Season) -> None:
    from soapstock.papers.season import facts
    from soapstock.views.words import NO_TAX_ADVICE

    table(
        f"{told.first} to {told.last}, {told.currency}",
        ["Bars", "Number", "Cost"],
        [[r.way, str(r.bars), "" if r.cost is None else str(r.cost)] for r in told.bars],
        right=["Number", "Cost"],
    )
    for label, value in facts(told):
        say(f"{label}: {value}")
    _print_more(told)
    notes = [f"stock is valued by {told.method}"]
    if told.unknown:
        notes.append(f"no cost on record for {', '.join(told.unknown)}: margins are too high by it")
    if told.unpriced:
        notes.append(f"{several(told.unpriced, 'bar')} left without a price and are not counted")
    say_notes(notes)
    say(NO_TAX_ADVICE)


def _print_more(told: Season) -> None:
    table(
        "Stock at its end",
        ["What", "Lots", "Value"],
        [[r.what, str(r.lots), str(r.value)] for r in told.stock],
        right=["Lots", "Value"],
    )
    heads = ["Month", "To", "Bars", "Goods", "Postage", "Tax"]
    table(
        "Sales by month and place",
        heads,
        [
            [r.month, r.place, str(r.bars), str(r.goods), str(r.postage), str(r.tax)]
            for r in told.months
        ],
        right=heads[2:],
        empty="nothing was sold at a known price",
    )
    if told.yields:
        table(
            "Yields",
            ["What", "Went in", "Came out", "%"],
            [[r.of, r.went_in, r.came_out, f"{r.percent:.1f}"] for r in told.yields],
            right=["Went in", "Came out", "%"],
        )
    if told.breakage:
        table(
            "Breakage after the mould",
            ["Age", "Stood", "Bars", "%"],
            [[r.age, r.stood, str(r.bars), f"{r.percent:.1f}"] for r in told.breakage],
            right=["Bars", "%"],
        )
    if told.animals:
        heads = ["Animal", "Raw kg", "Fat kg", "Poured", "Bars", "Sold", "Given", "Here"]
        table(
            "Animals, bars shared by mass of fat",
            heads,
            [
                [
                    a.animal,
                    f"{a.raw_kg:.1f}",
                    f"{a.fat_kg:.1f}",
                    f"{a.poured_kg:.1f}",
                    *(f"{n:.0f}" for n in (a.bars, a.sold, a.given, a.on_hand)),
                ]
                for a in told.animals
            ],
            right=heads[1:],
        )
