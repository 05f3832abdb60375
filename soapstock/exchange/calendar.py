"""Dates as an iCalendar file (RFC 5545) that ordinary calendars open.

Whole-day events only, so no time zones enter; each keeps its own identifier, so that importing a
later file moves the events instead of doubling them. Written here rather than by a library because
the little we need is a page of the standard: lines end in CRLF and are folded at 75 octets
(section 3.1), commas, semicolons, backslashes and line breaks in text are escaped (3.3.11), an
all-day event has a DATE start and an exclusive DATE end (3.6.1). The tests read it back with an
independent library.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta

PRODUCT = "-//soapstock//cure calendar//EN"
_FOLD_OCTETS = 75


@dataclass(frozen=True, slots=True, kw_only=True)
class CalendarEvent:
    """One whole-day event.

    Attributes:
        key: what makes it this event and no other, such as `DRF26329A1-weigh`.
        on: its day.
        title: one line.
        details: more, may have several lines.
        every_days: comes again after so many days, or None.
        until: last day it may come again.
    """

    key: str
    on: date
    title: str
    details: str = ""
    every_days: int | None = None
    until: date | None = None


def calendar_text(events: Iterable[CalendarEvent], *, name: str, made_at: datetime) -> str:
    """The iCalendar text of events.

    Args:
        events: in any order; written by day, then key.
        name: the calendar's name.
        made_at: instant of making, aware; it stamps each event (DTSTAMP).
    """
    lines = [
        "BEGIN:VCALENDAR",
        "VERSION:2.0",
        f"PRODID:{PRODUCT}",
        "CALSCALE:GREGORIAN",
        "METHOD:PUBLISH",
        f"X-WR-CALNAME:{_escaped(name)}",
    ]
    for event in sorted(events, key=lambda e: (e.on, e.key)):
        lines += _event(event, made_at)
    lines.append("END:VCALENDAR")
    return "".join(_folded(line) for line in lines)


def _event(event: CalendarEvent, made_at: datetime) -> list[str]:
    lines = [
        "BEGIN:VEVENT",
        f"UID:{event.key}@soapstock",
        f"DTSTAMP:{made_at.astimezone(UTC):%Y%m%dT%H%M%SZ}",
        f"DTSTART;VALUE=DATE:{event.on:%Y%m%d}",
        f"DTEND;VALUE=DATE:{event.on + timedelta(days=1):%Y%m%d}",
        f"SUMMARY:{_escaped(event.title)}",
        "TRANSP:TRANSPARENT",
    ]
    if event.details:
        lines.append(f"DESCRIPTION:{_escaped(event.details)}")
    if event.every_days is not None:
        rule = f"RRULE:FREQ=DAILY;INTERVAL={event.every_days}"
        if event.until is not None:
            rule += f";UNTIL={event.until:%Y%m%d}"
        lines.append(rule)
    return [*lines, "END:VEVENT"]


def _escaped(text: str) -> str:
    plain = "".join(c for c in text.replace("\r\n", "\n") if c == "\n" or ord(c) >= ord(" "))
    for char in ("\\", ";", ","):
        plain = plain.replace(char, f"\\{char}")
    return plain.replace("\n", "\\n")


def _folded(line: str) -> str:
    """The line in pieces of at most 75 octets, never cutting a character, each ended by CRLF."""
    pieces, piece, size = [], "", 0
    for char in line:
        octets = len(char.encode())
        if size + octets > _FOLD_OCTETS:
            pieces.append(piece)
            piece, size = " ", 1
        piece += char
        size += octets
    return "\r\n".join([*pieces, piece]) + "\r\n"
