"""`cure`, `rack` and `calendar`: how batches dry, on screen, on paper and by date."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from soapstock.cli.frame.output import emit_record, say, say_notes, table
from soapstock.cli.frame.session import AsJson, Lot, day_or_none, desk
from soapstock.errors import BadInput
from soapstock.units import several

if TYPE_CHECKING:
    from soapstock.views.batch import BatchView
    from soapstock.views.cure import CureView

COLUMNS, ROWS = 64, 15


def cure(
    ctx: typer.Context,
    lot: Lot,
    pdf: Annotated[
        Path | None, typer.Option("--pdf", metavar="FILE", help="Print the chart as PDF.")
    ] = None,
    png: Annotated[
        Path | None, typer.Option("--png", metavar="FILE", help="Draw the chart as a picture.")
    ] = None,
    on: Annotated[
        str | None,
        typer.Option("--on", metavar="DATE", help="Also tell weight and chance on this day."),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """It shows the curve, and says what to weigh and what to declare."""
    from soapstock.papers import cure_chart
    from soapstock.views import cure as cure_views

    with desk(ctx) as opened:
        seen = cure_views.cure(opened, lot)
        day = day_or_none(on)
        found = cure_views.cure_row(opened, seen, day)
        for path, ending in ((pdf, ".pdf"), (png, ".png")):
            if path is not None:
                cure_chart.write_chart(opened, seen, _named(path, ending))
        if as_json:
            emit_record(found)
            return
        print_cure(seen)
        if found.on_day is not None:
            mass, chance = found.on_day.mass_g, found.on_day.chance_ready
            say(
                f"On {found.on_day.on} a bar weighs {mass.nominal:.1f} g "
                f"({mass.low:.1f} to {mass.high:.1f}) and is cured and dry with "
                f"{100 * chance:.0f} % chance."
            )
        for path in (pdf, png):
            if path is not None:
                say(f"Chart written to {path}")


def _named(path: Path, ending: str) -> Path:

    if path.suffix.lower() != ending:
        raise BadInput(f"{path} does not end in {ending}", hint=f"name the file like cure{ending}")
    return path


def print_cure(seen: CureView) -> None:
    """Print a batch's curve, answers, gates and alarms."""
    from soapstock.views import words
    from soapstock.views.cure import facts_of

    item = seen.item
    say(f"{item.facts.lot_code.shown}  {item.recipe.name}  {words.state_words(item).upper()}")
    say(f"Day {item.day} of {item.cure_days}. Ready by: {words.ready_by_words(item)}")
    say()
    for line in text_chart(seen):
        say(line)
    reckoned = "   r reckoned" if any(r.reckoned for r in seen.chart.readings) else ""
    say(f"o weighed{reckoned}   x set aside   * expected   . nine cases of ten   | today")
    say()
    for label, value in facts_of(seen):
        say(f"{label + ':':<27}{value}")
    say()
    table(
        "Chance to be cured and dry",
        [f"{day.day} {day:%b}" for day, _ in seen.chances],
        [[f"{100 * chance:.0f} %" for _, chance in seen.chances]],
    )
    print_gates(item)
    say_notes(words.mark_words(item))


def print_gates(item: BatchView) -> None:
    """Print the five gates, and why each is open or shut."""
    from soapstock.views.words import gate_words

    table(
        "Gates",
        ["Gate", "", "Why"],
        [[gate.name, gate.stands, gate.why] for gate in gate_words(item)],
        whole=["Gate", ""],
    )


def text_chart(seen: CureView, *, columns: int = COLUMNS, rows: int = ROWS) -> list[str]:
    """The curve in characters: mass up, days along, at most 76 columns wide."""
    chart = seen.chart
    low = min([p.low_g for p in chart.curve] + [r.mass_g for r in chart.readings])
    high = max([p.high_g for p in chart.curve] + [r.mass_g for r in chart.readings])
    last = chart.curve[-1].day
    span = max(high - low, 0.1)
    grid = [[" "] * columns for _ in range(rows)]

    def row(grams: float) -> int:
        return min(rows - 1, max(0, round((high - grams) / span * (rows - 1))))

    def column(day: float) -> int:
        return min(columns - 1, max(0, round(day / last * (columns - 1))))

    today = column(min(float(seen.item.day), last))
    for line in grid:
        line[today] = "|"
    for p in seen.curve_at(columns):
        place = column(p[0])
        for y in range(row(p[3]), row(p[1]) + 1):
            grid[y][place] = "."
        grid[row(p[2])][place] = "*"
    for reading in chart.readings:
        mark = "r" if reading.reckoned else "x" if reading.odd else "o"
        grid[row(reading.mass_g)][column(reading.day)] = mark
    lines = []
    for y, cells in enumerate(grid):
        label = f"{high - span * y / (rows - 1):6.1f} g" if y % 2 == 0 else " " * 8
        lines.append(f"{label} {''.join(cells).rstrip()}")
    return [*lines, _day_axis(last, columns)]


def _day_axis(last: float, columns: int) -> str:
    axis = [" "] * (columns + 8)
    step = 7 if last <= 100 else 28 if last <= 400 else 91
    day = 0
    while day <= last:
        place = round(day / last * (columns - 1))
        for i, char in enumerate(str(day)):
            if place + i < len(axis):
                axis[place + i] = char
        day += step
    return f"     day {''.join(axis).rstrip()}"


def rack(
    ctx: typer.Context,
    pdf: Annotated[Path, typer.Option("--pdf", metavar="FILE", help="Where to print it.")],
    everything: Annotated[
        bool, typer.Option("--all", help="Ready batches too, not only those waiting.")
    ] = False,
) -> None:
    from soapstock.papers import cure_chart

    with desk(ctx) as opened:
        batches, pages = cure_chart.write_rack(opened, _named(pdf, ".pdf"), everything=everything)
    say(f"{several(batches, 'batch')} on {several(pages, 'page')}: {pdf}")


def calendar(
    ctx: typer.Context,
    file: Annotated[Path, typer.Argument(metavar="FILE", help="The .ics file to write.")],
) -> None:
    """Unmoulding, turning, weighing, testing, and the days batches are ready."""
    from soapstock.papers import calendar as calendar_papers

    with desk(ctx) as opened:
        events = calendar_papers.write_calendar(opened, file)
    say(
        f"{several(events, 'date')} written to {file}; "
        "import it again later and they move, not double"
    )
