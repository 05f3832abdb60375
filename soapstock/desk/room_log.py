"""Room records of the shop: daily means of temperature and humidity by place, from loggers.

They stand in room-log.csv beside shop.toml (place, day, temperature_c, humidity_percent, readings),
a file a maker may also write by hand. They shift a forecast only when the shop's own finished
batches show that they matter (cure/kin.py).
"""

from __future__ import annotations

import csv
import io
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from statistics import fmean

from soapstock.desk.desk import Desk
from soapstock.errors import BadInput
from soapstock.exchange.room_log import read_room_csv
from soapstock.exchange.text_file import MEGABYTE, read_text_file, write_text_file
from soapstock.tables.csv_text import csv_rows

FILE = "room-log.csv"
_HEAD = ("place", "day", "temperature_c", "humidity_percent", "readings")


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomDay:
    """Mean of a day's records at a place."""

    place: str
    day: date
    room_c: float | None
    room_rh: float | None
    readings: int


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomLog:
    """All daily means of the shop."""

    days: tuple[RoomDay, ...]

    def between(self, place: str, first: date, last: date) -> tuple[list[float], list[float]]:
        """Daily temperatures and humidities of a place from one day to another, both included."""
        found = [d for d in self.days if d.place == place and first <= d.day <= last]
        return (
            [d.room_c for d in found if d.room_c is not None],
            [d.room_rh for d in found if d.room_rh is not None],
        )


def room_log(desk: Desk) -> RoomLog:
    """The shop's daily room records, if any. Raises BadInput naming the line."""
    path = desk.shop.folder / FILE
    if not path.is_file():
        return RoomLog(days=())
    text = read_text_file(path, "file of room records", most_bytes=50 * MEGABYTE)
    rows = csv_rows(text, str(path))
    if not rows or tuple(rows[0]) != _HEAD:
        raise BadInput(f"{path}:1: the head is not {','.join(_HEAD)}", hint="mend the first line")
    return RoomLog(days=tuple(_day(path, n, row) for n, row in enumerate(rows[1:], 2) if row))


def _day(path: Path, number: int, row: list[str]) -> RoomDay:
    try:
        place, day, warm, damp, readings = (cell.strip() for cell in row)
        return RoomDay(
            place=place,
            day=date.fromisoformat(day),
            room_c=float(warm) if warm else None,
            room_rh=float(damp) if damp else None,
            readings=int(readings),
        )
    except ValueError:
        raise BadInput(
            f"{path}:{number}: not a place, day, temperature, humidity and count",
            hint="write it like rack,2026-11-25,17.5,58,1",
        ) from None


def take_logger_file(desk: Desk, file: Path, place: str) -> int:
    """Put a logger's records into the shop's room log, as daily means; the days taken.

    A day that is in the log already is replaced, so the same file may come again.

    Raises:
        NotFound, BadInput: the file is missing or wrong; nothing is written.
    """
    if not place.strip() or "," in place:
        raise BadInput(f"place '{place}' is not a place's name", hint="such as rack")
    by_day = defaultdict(list)
    for record in read_room_csv(file):
        by_day[record.at.date()].append(record)
    new = {}
    for day, records in by_day.items():
        warm = [r.room_c for r in records if r.room_c is not None]
        damp = [r.room_rh for r in records if r.room_rh is not None]
        new[(place, day)] = RoomDay(
            place=place,
            day=day,
            readings=len(records),
            room_c=fmean(warm) if warm else None,
            room_rh=fmean(damp) if damp else None,
        )
    kept = {(d.place, d.day): d for d in room_log(desk).days} | new
    write_text_file(desk.shop.folder / FILE, _text(kept[key] for key in sorted(kept)))
    return len(new)


def _text(days: Iterable[RoomDay]) -> str:
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(_HEAD)
    for d in days:
        writer.writerow(
            [
                d.place,
                d.day.isoformat(),
                *("" if v is None else f"{v:.1f}" for v in (d.room_c, d.room_rh)),
                d.readings,
            ]
        )
    return out.getvalue()
