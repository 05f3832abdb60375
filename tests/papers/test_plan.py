"""The plan on paper and in a calendar, against the plan itself."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

import icalendar
import pypdfium2
import pytest

from soapstock.desk.desk import Desk
from soapstock.papers.plan import write_plan, write_plan_calendar
from soapstock.views.plan import Planned, Wish, plan
from soapstock.views.plan_page import plan_page
from tests.desks import desk

__all__ = ["desk"]


@pytest.fixture
def seen(desk: Desk) -> Planned:
    """A launch in three months, with sales enough to pour for."""
    return plan(desk, Wish(launch=date(2027, 2, 20), first=date(2026, 11, 20), expected=900))


def test_the_page_names_every_pour_and_every_batch_that_cures(
    desk: Desk, seen: Planned, tmp_path: Path
) -> None:
    """On one page; no ink but black and greys."""
    path = tmp_path / "plan.pdf"
    assert write_plan(desk, seen, path) == 1
    page = pypdfium2.PdfDocument(path)[0]
    text = page.get_textpage().get_text_bounded()
    assert seen.plan is not None
    assert text.count("Wrack") >= sum(p.code == "WRK" for p in seen.plan.pours)
    assert all(item.facts.lot_code.shown in text for item in seen.curing)
    picture = page.render(scale=0.5).to_pil().convert("RGB")
    assert all(r == g == b for _, (r, g, b) in picture.getcolors(100_000))


def test_weeks_count_every_pour_once_and_the_fullest_day(seen: Planned) -> None:
    """And a way is black, grey and framed in that order."""
    told = plan_page(seen)
    assert seen.plan is not None
    assert sum(len(week.pours) for week in told.weeks) == len(seen.plan.pours)
    assert max(week.rack_bars for week in told.weeks) == max(day.rack_bars for day in told.use)
    for way in told.ways:
        assert way.poured_on < way.out_on
        assert way.early is None or way.late is None or way.early <= way.late
        if way.planned:
            assert way.late is not None
            assert way.late <= told.launch


def test_the_calendar_is_read_by_another_program(desk: Desk, seen: Planned, tmp_path: Path) -> None:
    """A day for each pour, for each latest ready day, and for the launch; taken in twice, once."""
    path = tmp_path / "plan.ics"
    count = write_plan_calendar(desk, seen, path)
    events: Any = icalendar.Calendar.from_ical(path.read_bytes()).walk("VEVENT")
    assert seen.plan is not None
    assert count == len(events) == 1 + 2 * len(seen.plan.pours)
    pours = sorted(e.decoded("dtstart") for e in events if "Pour " in str(e["summary"]))
    assert pours == [pour.day for pour in seen.plan.pours]
    assert len({str(e["uid"]) for e in events}) == count


def test_the_command_writes_both(demo_shop: Path, run: Any, tmp_path: Path) -> None:
    """And says so; JSON stays JSON."""
    words = ["--shop", demo_shop, "--today", "2026-11-20", "plan", "--expect", "900"]
    files = ["--pdf", tmp_path / "p.pdf", "--calendar", tmp_path / "p.ics"]
    told = run(*words, *files)
    assert told.code == 0
    assert (tmp_path / "p.pdf").read_bytes().startswith(b"%PDF")
    assert "Week by week" in told.out
    assert max(map(len, told.out.splitlines())) <= 80
    assert run(*words, "--json", *files).out.startswith("{")
