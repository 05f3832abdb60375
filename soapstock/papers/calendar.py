"""The dates of the shop's batches as calendar events."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

from soapstock.desk.desk import Desk, one_snapshot
from soapstock.exchange.calendar import CalendarEvent, calendar_text
from soapstock.exchange.text_file import write_text_file
from soapstock.views.batch import BatchView, views
from soapstock.views.cure import TURN_EVERY_DAYS, UNMOULD_AFTER_DAYS, _next_text, cure_view
from soapstock.views.lists import WAITING

if TYPE_CHECKING:
    from soapstock.exchange.calendar import CalendarEvent


def calendar(desk: Desk) -> list[CalendarEvent]:
    """What is to be done from today on: unmould, turn, weigh, test, ready."""
    found: list[CalendarEvent] = []
    for item in views(desk):
        if item.readiness.state in WAITING and not item.stopped:
            found += _events(desk, item)
    return found


def _events(desk: Desk, item: BatchView) -> Sequence[CalendarEvent]:

    code, lot = item.facts.lot_code, item.facts.lot_code.shown
    what = f"{item.recipe.name}, {lot}"
    today, poured = desk.today, item.facts.poured_on
    cured = poured + timedelta(days=item.cure_days)
    ready = item.ready_by
    found = []

    def add(kind: str, on: date, title: str, details: str, **more: Any) -> None:
        found.append(
            CalendarEvent(
                key=f"{code}-{kind}",
                on=max(on, today),
                title=f"{title} {what}",
                details=details,
                **more,
            )
        )

    if item.facts.unmould is None:
        due = poured + timedelta(days=UNMOULD_AFTER_DAYS)
        add("unmould", due, "Unmould", "Count and weigh the bars; gloves: it still holds lye.")
        began = due
    else:
        began = item.facts.unmould.on
    turns = began + timedelta(days=TURN_EVERY_DAYS)
    while turns < today:
        turns += timedelta(days=TURN_EVERY_DAYS)
    if turns < cured:
        add(
            "turn",
            turns,
            "Turn",
            "Turn the bars and leave air between them.",
            every_days=TURN_EVERY_DAYS,
            until=cured,
        )
    if item.forecast is not None:
        seen = cure_view(desk, item)
        if seen.next_weigh_in is not None:
            add("weigh", seen.next_weigh_in, "Weigh", "The same counted bars; " + _next_text(seen))
    if not item.readiness.gates["tested"].open:
        add("test", cured, "Test", "Free-alkali test: tongue, phenolphthalein or titration.")
    if ready is not None:
        window = f"Expected between {ready.early.isoformat()} and {ready.late.isoformat()}, "
        words = "Cured and dry." if ready.late <= today else window + "nine cases of ten."
        add("ready", ready.expected, "Ready by: release", words)
    return found


@one_snapshot
def write_calendar(desk: Desk, path: Path) -> int:
    """The calendar as an .ics file; how many events. Raises BadInput."""
    events = calendar(desk)
    text = calendar_text(events, name=f"{desk.shop.maker}: cure", made_at=desk.now)
    write_text_file(path, text, ".ics")
    return len(events)
