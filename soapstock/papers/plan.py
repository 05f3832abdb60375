"""A plan on paper and as calendar entries."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from soapstock.desk.desk import Desk
from soapstock.exchange.calendar import CalendarEvent, calendar_text
from soapstock.exchange.text_file import write_text_file
from soapstock.units import mass_words, several
from soapstock.views.plan_page import Way, plan_page

if TYPE_CHECKING:
    from soapstock.views.plan import Planned


def write_plan(desk: Desk, seen: Planned, path: Path) -> int:
    """The plan over time as a PDF; how many pages. Raises BadInput."""
    from soapstock.render.paper.plan_page import Bar, PlanSheet, Use, write_plan_page
    from soapstock.views.plan import next_pour

    told = plan_page(seen)
    bars = tuple(
        Bar(
            label=_label(way),
            planned=way.planned,
            poured_on=way.poured_on,
            out_on=way.out_on,
            early=way.early,
            expected=way.expected,
            late=way.late,
        )
        for way in told.ways
    )
    moulds = Use(
        title="Moulds in use", days=tuple(u.moulds for u in told.use), most=told.mould_count
    )
    racks = Use(
        title="Bars on the racks", days=tuple(u.rack_bars for u in told.use), most=told.rack_places
    )
    sheet = PlanSheet(
        title=f"{desk.shop.maker}: to be ready by {told.launch.isoformat()}",
        subtitle=f"{desk.today.isoformat()}: {next_pour(seen)}",
        first=told.first,
        launch=told.launch,
        bars=bars,
        uses=(moulds, racks),
    )
    return write_plan_page(path, sheet, paper=desk.shop.paper)


def _label(way: Way) -> str:
    day = f"{way.poured_on:%a} {way.poured_on.day} {way.poured_on:%b}"
    return f"{way.lot or day}  {way.bars or ''} {way.name}"


def plan_events(seen: Planned) -> list[CalendarEvent]:
    """Each pour, the day it is ready by its late bound, and the day of the plan.

    Pours are numbered, so that a later plan taken in moves them instead of doubling them.
    """
    names = {s.code: s.name for s in seen.standings}
    late = {v.code: v.late_days for v in seen.task.varieties}
    found = [
        CalendarEvent(
            key="plan-launch",
            on=seen.task.launch,
            title="The day planned for",
            details=f"Expected to sell: {seen.plan.sold:.0f} bars." if seen.plan else "",
        )
    ]
    for number, pour in enumerate(seen.plan.pours if seen.plan else (), 1):
        what = f"{several(pour.bars, 'bar')} of {names[pour.code]}"
        moulds = ", ".join(f"{n} {name}" for name, n in pour.moulds)
        found.append(
            CalendarEvent(
                key=f"plan-pour-{number}",
                on=pour.day,
                title=f"Pour {what}",
                details=f"{mass_words(round(pour.batter_g))} of batter into {moulds}.",
            )
        )
        found.append(
            CalendarEvent(
                key=f"plan-ready-{number}",
                on=pour.day + timedelta(days=late[pour.code]),
                title=f"{what} ready at the latest",
                details="Cured and dry in 19 cases of 20; tests and release come on top.",
            )
        )
    return found


def write_plan_calendar(desk: Desk, seen: Planned, path: Path) -> int:
    """The plan as an .ics file; how many events. Raises BadInput."""
    events = plan_events(seen)
    text = calendar_text(events, name=f"{desk.shop.maker}: plan", made_at=desk.now)
    write_text_file(path, text, ".ics")
    return len(events)
