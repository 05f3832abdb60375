"""`curing` and `ready`: what still cures, and what may ship."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Annotated

import typer

from soapstock.cli.frame.output import console, emit, say, say_notes, table
from soapstock.cli.frame.session import AsCsv, AsJson, desk, parse_day
from soapstock.errors import BadInput

if TYPE_CHECKING:
    from soapstock.views.batch import BatchView
    from soapstock.views.lists import ReadyLine


_WIDE = 72  # columns of a screen that holds the whole table with whole words


def curing(ctx: typer.Context, as_json: AsJson = False, as_csv: AsCsv = False) -> None:
    """It gives the day, the weight, what it lost and the expected day of each."""
    from soapstock.views import lists

    with desk(ctx) as opened:
        items = lists.curing(opened)
        if emit(map(lists.row, items), as_json=as_json, as_csv=as_csv):
            return
        print_curing(items, opened.today)


def print_curing(items: list[BatchView], today: date) -> None:
    """Print the curing table; a narrow screen has no room for bars and loss."""
    from soapstock.views.words import mark_words

    narrow = console().width < _WIDE
    heads = ["Lot", "Bar", "Bars", "Day", "Weight g", "Ready by", "Next"]
    rows = [_curing_row(item) for item in items]
    if narrow:
        heads = ["Lot", "Bar", "Day", "g", "Ready", "Next"]
        rows = [_narrow(row) for row in rows]
    table(
        f"Curing on {today.isoformat()}",
        heads,
        rows,
        right=["Bars", "Day", "g"],
        whole=[head for head in heads if head not in ("Bar", "Bars")],
        empty="nothing is curing",
    )
    if any(item.alarms for item in items):
        say("! looks odd:")
    for item in items:
        say_notes([f"{item.facts.lot_code.shown}: {mark}" for mark in mark_words(item)])


def _narrow(row: list[str]) -> list[str]:
    """The row of a narrow screen: no bars and no loss, and few words."""
    lot, bar, _, day, weight, ready, step = row
    from soapstock.views import words

    mass = weight.partition(" ")[0] if weight[0].isdigit() else ""
    return [lot, bar, day, mass, words.SHORT.get(ready, ready), step]


def _curing_row(item: BatchView) -> list[str]:
    from soapstock.views import words

    return [
        item.facts.lot_code.shown,
        item.recipe.name,
        words.bars_words(item),
        words.day_of_cure(item),
        words.weight_words(item),
        words.ready_by_words(item).partition(" (")[0],
        words.missing_words(item).partition(",")[0],
    ]


def ready(
    ctx: typer.Context,
    week: Annotated[
        bool, typer.Option("--week", help="And those ready within seven days.")
    ] = False,
    by: Annotated[
        str | None, typer.Option("--by", metavar="DATE", help="And those ready by this day.")
    ] = None,
    as_json: AsJson = False,
    as_csv: AsCsv = False,
) -> None:
    """With a day, also those expected to be ready by then."""
    from soapstock.views import lists

    if week and by:
        raise BadInput("--week and --by together", hint="give one of them")
    with desk(ctx) as opened:
        until = parse_day(by, "--by") if by else None
        if week:
            until = lists.week_from(opened.today)
        if until is not None and until < opened.today:
            raise BadInput(f"--by {until.isoformat()} is past", hint="give a day to come")
        lines = lists.ready(opened, until)
        if emit(map(lists.ready_row, lines), as_json=as_json, as_csv=as_csv):
            return
        print_ready(lines, opened.today, until)


def print_ready(lines: list[ReadyLine], today: date, until: date | None) -> None:
    """Print the ready table and the sums by variety."""
    from soapstock.views.lists import by_variety

    title = f"Ready on {today.isoformat()}"
    if until is not None:
        title += f", or expected by {until.isoformat()}"
    table(
        title,
        ["Lot", "Bar", "Bars", "Kept", "Free", "Place", "Best before", "Ready"],
        [_ready_row(line) for line in lines],
        right=["Bars", "Kept", "Free"],
        whole=["Lot", "Best before"],
        empty="no bars",
    )
    for name, now, coming in by_variety(lines):
        later = f", {coming} more expected" if coming else ""
        say(f"{name}: {now} ready now{later}")


def _ready_row(line: ReadyLine) -> list[str]:
    from soapstock.views.words import ready_by_words, still_needs

    item = line.item
    places = ", ".join(f"{n} {p}" for p, n in item.facts.for_sale().items())
    when = "now"
    if not line.now:
        needs = ", ".join(still_needs(item))
        when = f"{ready_by_words(item)}; needs {needs}"
    until = item.best_before.isoformat() if item.best_before else ""
    bars = [str(item.bars), str(line.kept or ""), str(line.free)]
    return [item.facts.lot_code.shown, item.recipe.name, *bars, places, until, when]
