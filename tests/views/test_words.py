"""A batch is worded once, and every face prints those words.

The days and masses are computed elsewhere; here it is only how they are said.
"""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date
from itertools import pairwise
from pathlib import Path
from typing import Any

import pypdfium2
import pytest

from soapstock.cure.gates import ReadyBy
from soapstock.desk.desk import Desk
from soapstock.desk.finding import read_lot
from soapstock.enter.decide import decide
from soapstock.papers.cards import card_of, print_cards
from soapstock.papers.cure_chart import chart_sheet
from soapstock.views import words
from soapstock.views.batch import STOPPED, BatchView, view, views
from soapstock.views.cure import cure_view
from soapstock.views.history import weight_lines
from soapstock.views.lists import row

CURING, HELD = "WRK-26302-A4", "EEL-26290-AT"


def batch(desk: Desk, lot: str) -> BatchView:
    """A batch of the demo shop."""
    return view(desk, read_lot(desk, lot))


def ready_on(item: BatchView, *days: str) -> BatchView:
    """The same batch with another window."""
    early, expected, late = (date.fromisoformat(day) for day in days)
    window = ReadyBy(early=early, expected=expected, late=late)
    return replace(item, readiness=replace(item.readiness, ready_by=window))


@pytest.mark.parametrize(
    ("days", "short", "dated"),
    [
        (("2026-12-01", "2026-12-05", "2026-12-12"), "5 Dec (1 to 12 Dec)", "5 Dec 2026 "),
        (("2026-11-29", "2026-12-05", "2026-12-12"), "5 Dec (29 Nov to 12 Dec)", "5 Dec 2026 "),
        (("2026-12-05", "2026-12-05", "2026-12-05"), "5 Dec", "5 Dec 2026"),
        (("2027-12-05", "2027-12-05", "2027-12-05"), "5 Dec 2027", "5 Dec 2027"),
        (("2026-11-01", "2026-11-02", "2026-11-03"), "cured, dry", "cured, dry"),
    ],
)
def test_a_window_is_said_in_one_way(
    desk: Desk, days: tuple[str, str, str], short: str, dated: str
) -> None:
    """The month once where it is the same; the year where it is far, and always on paper."""
    item = ready_on(batch(desk, CURING), *days)
    assert words.ready_by_words(item) == short
    assert words.ready_by_words(item, year=True).startswith(dated)


def test_no_forecast_is_no_day(desk: Desk) -> None:
    """What is not known is said, not left empty."""
    item = batch(desk, CURING)
    bare = replace(item, readiness=replace(item.readiness, ready_by=None))
    assert words.ready_by_words(bare) == "not known yet"


@pytest.mark.parametrize("state", sorted(STOPPED))
def test_a_stopped_batch_has_no_ready_day(desk: Desk, state: Any) -> None:
    """However dry it is: a day would read as leave to sell."""
    item = batch(desk, CURING)
    stopped = replace(item, readiness=replace(item.readiness, state=state))
    assert not re.search(r"\d", words.ready_by_words(stopped))
    assert words.state_words(stopped) == state.upper()
    assert words.missing_words(stopped).endswith(state.upper())
    assert item.readiness.ready_by is not None
    assert row(stopped).ready_by is None


def test_weight_is_said_with_its_loss(desk: Desk) -> None:
    """As weighed, against the mass at unmoulding; before a weigh-in the start; none in a mould."""
    said = {item.facts.lot_code.shown: words.weight_words(item) for item in views(desk)}
    assert said[CURING] == "122.4 -8.5%"
    assert said["EBB-26321-AB"] == "132.8 start"
    assert said["SAM-26323-AN"] == "in mould"


def test_weights_run_from_the_start_down_to_bone_dry(desk: Desk) -> None:
    """The share of water left falls from 1 and stays above 0; loss and share say the same."""
    lines = weight_lines(batch(desk, CURING))
    assert lines[0].lost_percent == 0.0
    assert lines[0].water_left == 1.0
    assert len(lines) > 1
    for before, after in pairwise(lines):
        assert 0.0 < after.water_left < before.water_left
        assert after.lost_percent > before.lost_percent


def test_all_five_gates_are_said_in_their_order(desk: Desk) -> None:
    """Each with why it is open or shut."""
    gates = words.gate_words(batch(desk, CURING))
    assert [gate.name for gate in gates] == ["cured", "dry", "tested", "weight", "released"]
    assert {gate.stands for gate in gates} == {"open", "SHUT"}
    assert all(gate.why and gate.line.startswith(f"{gate.name}: ") for gate in gates)


def test_list_card_and_chart_say_the_same_of_each_batch(desk: Desk) -> None:
    """One batch is not expected on one day here and on another there."""
    for item in views(desk, in_stock=True):
        dated = words.ready_by_words(item, year=True)
        assert card_of(desk, item).ready_text == dated
        if item.forecast is not None:
            sheet = chart_sheet(desk, cure_view(desk, item))
            assert sheet.ready_text == dated
            assert sheet.gates == tuple(gate.line for gate in words.gate_words(item))
            assert (sheet.ready_expected is None) == (item.ready_by is None)


def test_the_card_of_a_held_batch_says_so_and_names_no_day(desk: Desk, tmp_path: Path) -> None:
    """It stands on the rack among bars that may be sold."""
    item = batch(desk, HELD)
    print_cards(desk, [HELD], tmp_path / "card.pdf")
    text = pypdfium2.PdfDocument(tmp_path / "card.pdf")[0].get_textpage().get_text_bounded()
    assert text.count("ON HOLD") >= 2
    assert "Do not sell" in text
    assert " ".join(words.stop_words(item).split()[:3]) in " ".join(text.split())
    assert "weigh the bars" not in text
    assert "28 Nov" not in text


def test_the_card_of_a_rejected_batch_says_so(desk: Desk, tmp_path: Path) -> None:
    """Not only holds."""
    decide(desk, CURING, "reject", "rancid")
    print_cards(desk, [CURING], tmp_path / "card.pdf")
    text = pypdfium2.PdfDocument(tmp_path / "card.pdf")[0].get_textpage().get_text_bounded()
    assert "REJECTED" in text
    assert "rancid" in text
    assert "Do not sell" in text


def test_no_other_file_words_a_gate_or_a_window() -> None:
    """A second wording would drift from the first."""
    package = Path(words.__file__).parents[1]
    for path in package.rglob("*.py"):
        if path != Path(words.__file__):
            text = path.read_text(encoding="utf-8")
            for mark in ('"cured, dry', '"SHUT"', "'SHUT'", "not known yet"):
                assert mark not in text, f"{path}: {mark}"
