"""The commands cure, rack and calendar."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

LOT = "LAN-26297-AJ"


@pytest.fixture
def at(demo_shop: Path) -> tuple[object, ...]:
    """The demo shop on its day."""
    return ("--shop", demo_shop, "--today", "2026-11-20")


def test_cure_shows_curve_answers_and_gates_in_eighty_columns(run: Any, at: Any) -> None:
    """The screen names all it should and is nowhere wider than a terminal."""
    told = run(*at, "cure", LOT)
    assert told.code == 0, told.err
    for words in (
        "Ready by",
        "* expected",
        "Highest weight to declare",
        "Next weigh-in",
        "Chance to be cured and dry",
        "tested",
    ):
        assert words in told.out
    assert max(len(line) for line in told.out.splitlines()) <= 80


def test_cure_as_json_keeps_its_keys(run: Any, at: Any) -> None:
    """Keys that others may build on."""
    found = json.loads(run(*at, "cure", LOT, "--json", "--on", "2026-12-25").out)
    assert found.keys() >= {
        "lot",
        "ready_by",
        "loss_so_far_percent",
        "chance_ready",
        "next_weigh_in",
        "highest_declared_g",
        "under_declared",
        "curve",
        "readings",
        "on_day",
    }


def test_cure_prints_its_chart(run: Any, at: Any, tmp_path: Path) -> None:
    """PDF and PNG in one go, and says where."""
    pdf, png = tmp_path / "c.pdf", tmp_path / "c.png"
    told = run(*at, "cure", LOT, "--pdf", pdf, "--png", png)
    assert told.code == 0, told.err
    assert pdf.exists()
    assert png.exists()


def test_rack_and_calendar_say_what_they_wrote(run: Any, at: Any, tmp_path: Path) -> None:
    """One line each, and the files are there."""
    rack = run(*at, "rack", "--pdf", tmp_path / "r.pdf")
    assert "1 page" in rack.out
    dates = run(*at, "calendar", tmp_path / "c.ics")
    assert "dates written" in dates.out
    assert (tmp_path / "r.pdf").exists()
    assert (tmp_path / "c.ics").exists()


@pytest.mark.parametrize(
    ("words", "code", "says"),
    [
        (("cure", "LAN-26297-AK"), 2, "check character"),
        (("cure", LOT, "--on", "2026-01-01"), 2, "before the pour"),
        (("cure", LOT, "--on", "soon"), 2, "not a day"),
        (("cure", LOT, "--pdf", "c.txt"), 2, "does not end in .pdf"),
        (("cure", LOT, "--pdf", "/none/c.pdf"), 2, "cannot be written"),
        (("rack", "--pdf", "r.txt"), 2, "does not end in .pdf"),
        (("calendar", "c.txt"), 2, "does not end in .ics"),
        (("calendar", "/none/c.ics"), 2, "cannot be written"),
    ],
)
def test_bad_input_is_one_clear_line(
    run: Any, at: Any, words: tuple[str, ...], code: int, says: str
) -> None:
    """Exit code and words; nothing on standard output but perhaps nothing at all."""
    told = run(*at, *words)
    assert told.code == code
    assert says in told.err
    assert "Traceback" not in told.err
