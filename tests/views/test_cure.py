"""The cure of a batch in full, the rack report and the calendar, in the demo shop."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import icalendar
import pypdfium2
import pytest

from soapstock.desk.desk import Desk
from soapstock.errors import BadInput, NotFound, RuleBroken
from soapstock.exchange.tabular import plain
from soapstock.papers import calendar, cure_chart
from soapstock.views import cure, lists
from tests.desks import on

CURING, DAMP, HELD, IN_MOULD = "LAN26297AJ", "SAM26279AE", "EEL26290AT", "SAM26323AN"


def test_the_answers_agree_with_each_other(desk: Desk) -> None:
    """Losses add up, chances rise, and the weight to declare lies under the end weight."""
    seen = cure.cure(desk, CURING)
    chances = [chance for _, chance in seen.chances]
    assert chances == sorted(chances)
    final = seen.forecast.final_mass().nominal
    whole = 100 * (1 - final / seen.forecast.start.mass_per_bar_g)
    assert seen.loss_so_far_percent + seen.loss_to_come_percent == pytest.approx(whole, abs=0.3)
    assert float(seen.highest_declared_g) <= final


def test_the_record_keeps_the_curing_keys_and_adds_the_answers(desk: Desk) -> None:
    """The JSON of cure holds all of curing's keys, the curve and the readings."""
    seen = cure.cure(desk, CURING)
    found = cure.cure_row(desk, seen, date(2026, 12, 25))
    assert plain(found).keys() >= plain(lists.row(seen.item)).keys()
    assert found.on_day is not None
    assert found.on_day.mass_g.low < found.on_day.mass_g.high
    assert found.on_day.chance_ready > 0.9
    assert len(found.readings) == 1 + len(seen.item.facts.weigh_ins)


def test_a_weight_before_the_pour_is_refused(desk: Desk) -> None:
    """There was no bar then."""
    with pytest.raises(BadInput, match="before the pour"):
        cure.on_day(desk, cure.cure(desk, CURING), date(2026, 1, 1))


def test_an_ingredient_lot_has_no_cure(desk: Desk) -> None:
    """Only batches dry."""
    with desk.ledger.read() as reader:
        lot = reader.ingredient_lots()[0].lot_code
    with pytest.raises(NotFound):
        cure.cure(desk, lot)


def test_a_batch_without_any_mass_is_refused_in_words(desk: Desk) -> None:
    """Without a forecast there is nothing to tell."""
    from dataclasses import replace

    item = replace(cure.cure(desk, IN_MOULD).item, forecast=None)
    with pytest.raises(RuleBroken, match="no mass"):
        cure.cure_view(desk, item)


def test_the_damp_batch_tells_its_alarm_on_the_chart(desk: Desk) -> None:
    """The printed chart carries what the screen says."""
    sheet = cure_chart.chart_sheet(desk, cure.cure(desk, DAMP))
    assert any("dries slowly" in note for note in sheet.notes)


@pytest.mark.parametrize("ending", [".pdf", ".png"])
def test_the_chart_is_written_in_both_kinds(desk: Desk, tmp_path: Path, ending: str) -> None:
    """A PDF with the lot in it, or a picture of it."""
    path = tmp_path / f"c{ending}"
    cure_chart.write_chart(desk, cure.cure(desk, CURING), path)
    if ending == ".pdf":
        text = pypdfium2.PdfDocument(path)[0].get_textpage().get_text_bounded()
        assert "LAN-26297-AJ" in text
    else:
        assert path.read_bytes().startswith(b"\x89PNG")


def test_another_kind_of_chart_is_refused(desk: Desk, tmp_path: Path) -> None:
    """Nothing is written for an unknown ending."""
    with pytest.raises(BadInput, match=r"neither \.pdf nor \.png"):
        cure_chart.write_chart(desk, cure.cure(desk, CURING), tmp_path / "c.gif")
    assert not list(tmp_path.glob("c.*"))


def test_the_rack_report_holds_every_waiting_batch(desk: Desk, tmp_path: Path) -> None:
    """All waiting lots on one page; with everything, the ready ones too."""
    path = tmp_path / "rack.pdf"
    assert cure_chart.write_rack(desk, path) == (len(lists.curing(desk)), 1)
    text = pypdfium2.PdfDocument(path)[0].get_textpage().get_text_bounded()
    assert all(word in text for word in ("LAN-26297-AJ", "ON HOLD", "in mould"))
    more, _ = cure_chart.write_rack(desk, path, everything=True)
    assert more > len(lists.curing(desk))


def test_an_empty_shop_has_no_rack_report(empty: Desk, tmp_path: Path) -> None:
    """Nothing to report is said, and no file is left."""
    with pytest.raises(BadInput, match="no batch"):
        cure_chart.write_rack(empty, tmp_path / "rack.pdf")
    assert not (tmp_path / "rack.pdf").exists()


def test_the_calendar_tells_each_batch_what_is_next(desk: Desk, tmp_path: Path) -> None:
    """Unmould for the batch in its mould, tests, ready dates; nothing in the past or on hold."""
    path = tmp_path / "c.ics"
    count = calendar.write_calendar(desk, path)
    events = icalendar.Calendar.from_ical(path.read_bytes()).walk("VEVENT")
    assert len(events) == count
    keys = {str(event["UID"]) for event in events}
    assert f"{IN_MOULD}-unmould@soapstock" in keys
    assert f"{CURING}-ready@soapstock" in keys
    assert not any(key.startswith(HELD) for key in keys)
    assert all(event["DTSTART"].dt >= desk.today for event in events)


def test_a_later_calendar_moves_the_same_events(desk: Desk) -> None:
    """A week on, what is still to do keeps its identifier."""
    now = {event.key for event in calendar.calendar(desk)}
    later = {event.key for event in calendar.calendar(on(desk, "2026-11-27"))}
    assert {key for key in now if key.endswith("-ready")} >= {
        key for key in later if key.endswith("-ready")
    }


def test_a_calendar_with_another_ending_is_refused(desk: Desk, tmp_path: Path) -> None:
    """Ordinary calendars open .ics."""
    with pytest.raises(BadInput, match=r"\.ics"):
        calendar.write_calendar(desk, tmp_path / "c.txt")
