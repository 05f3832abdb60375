"""`curing` and `ready`: what still cures, and what may ship."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Annotated

import typer

from soapstock.cli.frame.output import day_text, emit, say, say_notes, table
from soapstock.cli.frame.session import AsCsv, AsJson, desk, parse_day
from soapstock.errors import BadInput

if TYPE_CHECKING:
    from soapstock.cure.gates import ReadyBy
    from soapstock.views.batch import BatchView
    from soapstock.views.lists import ReadyLine


def ready_text(ready_by: ReadyBy | None, today: date) -> str:
    """`5 Dec (1 to 12 Dec)`: the expected day and its interval."""
    if ready_by is None:
        return "not known"
    if ready_by.late <= today:
        return "days are up"
    middle = day_text(ready_by.expected, today)
    if ready_by.early == ready_by.late:
        return middle
    early, late = day_text(ready_by.early, today), day_text(ready_by.late, today)
    if early.split(" ", 1)[1] == late.split(" ", 1)[1]:
        early = early.split(" ", 1)[0]
    return f"{middle} ({early} to {late})"


def curing(ctx: typer.Context, as_json: AsJson = False, as_csv: AsCsv = False) -> None:
    """It gives the day, the weight, the expected end and the ready-by of each."""
    from soapstock.views import lists

    with desk(ctx) as opened:
        items = lists.curing(opened)
        if emit(map(lists.record, items), as_json=as_json, as_csv=as_csv):
            return
        print_curing(items, opened.today)


def print_curing(items: list[BatchView], today: date) -> None:
    """Print the curing table."""
    table(
        f"Curing on {today.isoformat()}",
        ["Lot", "Bar", "Bars", "Day", "Weight g", "End g", "Ready by", "Missing"],
        [_curing_row(item, today) for item in items],
        right=["Bars", "Day"],
        whole=["Lot", "Bar", "Day", "End g"],
        empty="nothing is curing",
    )
    if any(item.alarms for item in items):
        say("! looks odd:")
    for item in items:
        say_notes([f"{_lot(item)}: {problem.message}" for problem in item.alarms])


def _lot(item: BatchView) -> str:

    return item.facts.lot_code.shown


def _curing_row(item: BatchView, today: date) -> list[str]:
    weight = "in mould"
    if item.last_weight_g is not None and item.start_g:
        lost = round(100 * (item.last_weight_g / item.start_g - 1), 1) + 0.0
        weight = (
            f"{item.last_weight_g:.1f} {lost:+.1f}%"
            if item.facts.weigh_ins
            else (f"{item.start_g:.1f} start")
        )
    end = ""
    if item.forecast is not None:
        final = item.forecast.final_mass()
        end = f"{final.low:.0f}-{final.high:.0f}"
    from soapstock.views.batch import STOPPED
    from soapstock.views.lists import still_needs

    missing = ", ".join(still_needs(item))
    if item.readiness.state in STOPPED:
        missing = item.readiness.state.upper()
    if item.alarms:
        missing = f"! {missing}"
    return [
        _lot(item),
        item.recipe.name,
        str(item.bars) if item.facts.unmould else "?",
        f"{item.day}/{item.cure_days}",
        weight,
        end,
        ready_text(item.readiness.ready_by, today),
        missing,
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
        rows = (lists.record(line.item) | {"now": line.now} for line in lines)
        if emit(rows, as_json=as_json, as_csv=as_csv):
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
        ["Lot", "Bar", "Bars", "Place", "Best before", "Ready"],
        [_ready_row(line, today) for line in lines],
        right=["Bars"],
        whole=["Lot", "Best before"],
        empty="no bars",
    )
    for name, now, coming in by_variety(lines):
        later = f", {coming} more expected" if coming else ""
        say(f"{name}: {now} ready now{later}")


def _ready_row(line: ReadyLine, today: date) -> list[str]:
    from soapstock.views.lists import still_needs

    item = line.item
    places = ", ".join(f"{n} {p}" for p, n in item.facts.for_sale().items())
    when = "now"
    if not line.now:
        needs = ", ".join(still_needs(item))
        when = f"{ready_text(item.readiness.ready_by, today)}; needs {needs}"
    until = item.best_before.isoformat() if item.best_before else ""
    return [_lot(item), item.recipe.name, str(item.bars), places, until, when]
