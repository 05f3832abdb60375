"""Room records taken from loggers."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from soapstock.desk.desk import Desk
from soapstock.desk.room_log import FILE, room_log, take_logger_file
from soapstock.errors import BadInput
from soapstock.views.teachers import slopes

CSV = "Time,Temperature (°C),Humidity (%RH)\n2026-11-01 06:00,10,80\n2026-11-01 18:00,14,60\n"


@pytest.fixture
def logger(tmp_path: Path) -> Path:
    """A logger's file of two records on one day."""
    path = tmp_path / "logger.csv"
    path.write_text(CSV, encoding="utf-8")
    return path


def test_records_become_daily_means(desk: Desk, logger: Path) -> None:
    """Two records of a day are one mean."""
    assert take_logger_file(desk, logger, "rack") == 1
    (day,) = room_log(desk).days
    assert (day.place, day.day, day.room_c, day.room_rh, day.readings) == (
        "rack",
        date(2026, 11, 1),
        12.0,
        70.0,
        2,
    )


def test_the_same_file_twice_counts_once(desk: Desk, logger: Path) -> None:
    """A day already taken is replaced; another place is kept beside it."""
    take_logger_file(desk, logger, "rack")
    take_logger_file(desk, logger, "rack")
    take_logger_file(desk, logger, "attic")
    assert [d.place for d in room_log(desk).days] == ["attic", "rack"]
    assert room_log(desk).between("rack", date(2026, 11, 1), date(2026, 11, 1)) == ([12.0], [70.0])


def test_a_hand_written_log_with_a_slip_is_refused_by_line(desk: Desk) -> None:
    """File and line are named."""
    (desk.shop.folder / FILE).write_text(
        "place,day,temperature_c,humidity_percent,readings\nrack,yesterday,1,2,3\n",
        encoding="utf-8",
    )
    with pytest.raises(BadInput, match=f"{FILE}:2"):
        room_log(desk)


def test_a_log_with_another_head_is_refused(desk: Desk) -> None:
    """The first line must be the head."""
    (desk.shop.folder / FILE).write_text("a,b\n", encoding="utf-8")
    with pytest.raises(BadInput, match=f"{FILE}:1"):
        room_log(desk)


def test_a_broken_logger_file_changes_nothing(desk: Desk, logger: Path) -> None:
    """After a refusal the log is as it was."""
    take_logger_file(desk, logger, "rack")
    before = (desk.shop.folder / FILE).read_text(encoding="utf-8")
    logger.write_text(CSV + "2026-11-02 06:00,warm,60\n", encoding="utf-8")
    with pytest.raises(BadInput, match=r"logger\.csv:4: temperature 'warm'"):
        take_logger_file(desk, logger, "rack")
    assert (desk.shop.folder / FILE).read_text(encoding="utf-8") == before


@pytest.mark.parametrize("place", ["", " ", "a,b"])
def test_a_place_needs_a_name(desk: Desk, logger: Path, place: str) -> None:
    """An empty name, or one that would break the file, is refused."""
    with pytest.raises(BadInput, match="not a place"):
        take_logger_file(desk, logger, place)


def test_an_empty_shop_sees_no_slopes(empty: Desk) -> None:
    """Without batches nothing is said of warmth or damp."""
    assert slopes(empty) == ()
