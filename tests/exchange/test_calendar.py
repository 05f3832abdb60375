"""The iCalendar file, read back by an independent library (icalendar) as RFC 5545 says."""

from __future__ import annotations

from datetime import UTC, date, datetime

import icalendar
from hypothesis import given
from hypothesis import strategies as st

from soapstock.exchange.calendar import CalendarEvent, calendar_text

MADE = datetime(2026, 11, 25, 9, 30, tzinfo=UTC)
WEIGH = CalendarEvent(
    key="DRF26329A1-weigh",
    on=date(2026, 12, 9),
    title="Weigh Driftwood, DRF-26329-A1",
    details="10 bars; the same ones\nas last time \\ rack 2",
)
TURN = CalendarEvent(
    key="DRF26329A1-turn",
    on=date(2026, 11, 30),
    title="Turn",
    every_days=4,
    until=date(2026, 12, 30),
)


def read(text: str) -> list[icalendar.Event]:
    """The events an independent reader finds."""
    return list(icalendar.Calendar.from_ical(text).walk("VEVENT"))


def test_an_independent_reader_finds_the_events() -> None:
    """Days, titles, details and identifiers come back; the order is by day."""
    turn, weigh = read(calendar_text([WEIGH, TURN], name="Heronwick", made_at=MADE))
    assert weigh["DTSTART"].dt == date(2026, 12, 9)
    assert weigh["DTEND"].dt == date(2026, 12, 10)
    assert str(weigh["SUMMARY"]) == WEIGH.title
    assert str(weigh["DESCRIPTION"]) == WEIGH.details
    assert str(weigh["UID"]) == "DRF26329A1-weigh@soapstock"
    assert weigh["DTSTAMP"].dt == MADE
    assert turn["RRULE"]["INTERVAL"] == [4]
    assert turn["RRULE"]["UNTIL"] == [date(2026, 12, 30)]


def test_an_empty_calendar_is_still_one() -> None:
    """No events, but the required properties."""
    calendar = icalendar.Calendar.from_ical(calendar_text([], name="x", made_at=MADE))
    assert calendar["VERSION"] == "2.0"
    assert calendar["PRODID"]


@given(st.text(min_size=1, max_size=300))
def test_any_title_survives_folding_and_escaping(title: str) -> None:
    """Lines stay within 75 octets and end in CRLF; printable text comes back unchanged."""
    event = CalendarEvent(key="k", on=date(2026, 1, 1), title=title)
    text = calendar_text([event], name="n", made_at=MADE)
    assert all(len(line.encode()) <= 75 for line in text.split("\r\n"))
    assert "\n" not in text.replace("\r\n", "")
    if title.isprintable():
        assert str(read(text)[0]["SUMMARY"]) == title
