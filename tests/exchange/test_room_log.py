"""Reading a room logger's CSV."""

from __future__ import annotations

from pathlib import Path

import pytest

from soapstock.errors import BadInput, NotFound
from soapstock.exchange.room_log import read_room_csv


def written(tmp_path: Path, text: str) -> Path:
    """A logger file with this text."""
    path = tmp_path / "log.csv"
    path.write_text(text, encoding="utf-8")
    return path


@pytest.mark.parametrize(
    ("text", "warm", "damp"),
    [
        ("time,temperature_c,humidity_percent\n2026-11-01T06:00,12.5,70\n", 12.5, 70.0),
        ("Date;Temp °C;RH\n2026-11-01 06:00;12,5;70%\n", 12.5, 70.0),
        ("\ufeffTimestamp\tTemperature (F)\n2026/11/01 06:00\t54.5\n", 12.5, None),
        ("date,relative humidity\n2026-11-01,70\n\n", None, 70.0),
        ("time,temp,rh\n2026-11-01 06:00,12.5,\n", 12.5, None),
    ],
)
def test_usual_loggers_are_read(
    tmp_path: Path, text: str, warm: float | None, damp: float | None
) -> None:
    """Commas, semicolons and tabs, decimal commas, °F, missing columns and cells."""
    (record,) = read_room_csv(written(tmp_path, text))
    assert record.room_c == (pytest.approx(warm) if warm is not None else None)
    assert record.room_rh == damp


def test_records_come_in_order_of_time(tmp_path: Path) -> None:
    """A logger that writes the newest first is sorted."""
    text = "time,temp\n2026-11-02,2\n2026-11-01,1\n"
    assert [r.room_c for r in read_room_csv(written(tmp_path, text))] == [1.0, 2.0]


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "empty"),
        ("a,b\n1,2\n", ":1: no column"),
        ("time,temp\nnoon,12\n", ":2: time 'noon'"),
        ("time,temp\n2026-11-01,hot\n", ":2: temperature 'hot'"),
        ("time,temp\n2026-11-01,nan\n", ":2: temperature"),
        ("time,temp\n2026-11-01,95\n", ":2: 95 °C is no room"),
        ("time,rh\n2026-11-01,120\n", ":2: humidity 120"),
    ],
)
def test_a_wrong_file_is_refused_by_line(tmp_path: Path, text: str, says: str) -> None:
    """Each slip names the file, the line and the value."""
    with pytest.raises(BadInput, match=says):
        read_room_csv(written(tmp_path, text))


def test_a_missing_file_is_not_found(tmp_path: Path) -> None:
    """NotFound, with the path."""
    with pytest.raises(NotFound, match="no logger file"):
        read_room_csv(tmp_path / "none.csv")
