"""The printed cure chart and the rack report."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pypdfium2
import pytest

from soapstock.cure.chart import CureChart, CurvePoint, ReadingPoint
from soapstock.errors import BadInput
from soapstock.render.paper.cure_chart import (
    ChartSheet,
    RackRow,
    nice_step,
    write_cure_chart,
    write_rack_report,
)

POURED = date(2026, 9, 1)
CHART = CureChart(
    curve=tuple(
        CurvePoint(day=d, low_g=130 - d / 5 - 1, mass_g=130 - d / 5, high_g=130 - d / 5 + 1)
        for d in (1.0, 10.0, 30.0, 60.0)
    ),
    readings=(
        ReadingPoint(day=1.0, mass_g=130.0, odd=False),
        ReadingPoint(day=10.0, mass_g=128.0, odd=False),
        ReadingPoint(day=20.0, mass_g=133.0, odd=True),
    ),
    dry_mass_g=104.0,
)
SHEET = ChartSheet(
    shop_name="Heronwick Saltings",
    recipe_name="Driftwood",
    lot_code="DRF-26244-AK",
    state="curing",
    chart=CHART,
    poured_on=POURED,
    today=POURED + timedelta(days=21),
    cure_days=35,
    ready_text="6 Oct 2026 (1 to 9 Oct 2026)",
    ready_early=POURED + timedelta(days=33),
    ready_expected=date(2026, 10, 6),
    ready_late=POURED + timedelta(days=41),
    declared_g=113.0,
    facts=(("Lost so far", "3.2 %"),),
    gates=("dry: SHUT, still drying",),
    notes=("look at the damp",),
)
ROW = RackRow(
    sheet=SHEET, bars="21", day="21/35", weight="128.0", ready="6 Oct", missing="14 d cure"
)


def text_of(path: Path, page: int = 0) -> str:
    """The words on a page."""
    return str(pypdfium2.PdfDocument(path)[page].get_textpage().get_text_bounded())


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_the_chart_says_what_it_shows(tmp_path: Path, paper: str) -> None:
    """Lot, window, lines, dates, answers, gates and alarms are all in words too."""
    path = tmp_path / "c.pdf"
    write_cure_chart(path, SHEET, paper=paper)
    text = text_of(path)
    for words in (
        "DRF-26244-AK",
        "6 Oct 2026",
        "declared 113 g",
        "today",
        "cured, day 35",
        "29 Sep",
        "Lost so far: 3.2 %",
        "still drying",
        "look at the damp",
    ):
        assert words in text


def test_the_chart_draws_vectors_not_a_picture(tmp_path: Path) -> None:
    """The page holds paths and text, no image."""
    from pypdfium2 import raw

    path = tmp_path / "c.pdf"
    write_cure_chart(path, SHEET)
    kinds = [thing.type for thing in pypdfium2.PdfDocument(path)[0].get_objects()]
    assert raw.FPDF_PAGEOBJ_IMAGE not in kinds
    assert kinds.count(raw.FPDF_PAGEOBJ_PATH) > 10


def test_the_same_sheet_gives_the_same_bytes(tmp_path: Path) -> None:
    """No time of making is in the file."""
    for name in ("a.pdf", "b.pdf"):
        write_cure_chart(tmp_path / name, SHEET)
    assert (tmp_path / "a.pdf").read_bytes() == (tmp_path / "b.pdf").read_bytes()


def test_a_chart_without_window_or_declared_weight_is_drawn(tmp_path: Path) -> None:
    """What is not known is left out and said."""
    bare = replace(
        SHEET,
        ready_text="not known yet",
        ready_early=None,
        ready_expected=None,
        ready_late=None,
        declared_g=None,
        notes=(),
    )
    write_cure_chart(tmp_path / "c.pdf", bare)
    assert "not known yet" in text_of(tmp_path / "c.pdf")


@pytest.mark.parametrize(("rows", "pages"), [(1, 1), (14, 1), (22, 1), (60, 3)])
def test_the_rack_report_takes_one_page_while_it_can(tmp_path: Path, rows: int, pages: int) -> None:
    """Up to about two dozen batches on a page; more run on."""
    path = tmp_path / "r.pdf"
    today = POURED + timedelta(days=21)
    assert write_rack_report(path, [ROW] * rows, shop_name="S", today=today) == pages
    assert len(pypdfium2.PdfDocument(path)) == pages
    assert text_of(path).count("DRF-26244-AK") == min(rows, 22 if pages > 1 else rows)


def test_the_rack_report_explains_itself_and_has_a_column_to_write_in(tmp_path: Path) -> None:
    """A legend on every page, with the one scale of all curves, and this week's empty column."""
    light = replace(CHART, readings=(ReadingPoint(day=1.0, mass_g=64.4, odd=False),))
    halved = tuple(
        CurvePoint(day=p.day, low_g=p.low_g / 2, mass_g=p.mass_g / 2, high_g=p.high_g / 2)
        for p in CHART.curve
    )
    other = replace(ROW, sheet=replace(SHEET, chart=replace(light, curve=halved)))
    path = tmp_path / "r.pdf"
    write_rack_report(path, [ROW, other] * 20, shop_name="S", today=POURED)
    for page in (0, 1):
        text = " ".join(text_of(path, page).split())
        assert "one scale of 90 to 103 % and 0 to 60 days" in text
        assert "Weighed now: g, bars" in text
        assert "looks odd" in text


def test_no_batches_make_no_report(tmp_path: Path) -> None:
    """Nothing is written for nothing."""
    with pytest.raises(BadInput, match="no batch"):
        write_rack_report(tmp_path / "r.pdf", [], shop_name="S", today=POURED)
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize(
    ("span", "step"), [(7.0, 1.0), (13.0, 2.0), (30.0, 5.0), (0.5, 0.1), (69.0, 10.0)]
)
def test_steps_of_the_scale_are_round(span: float, step: float) -> None:
    """1, 2 or 5 times a power of ten, about seven to the span."""
    assert nice_step(span, 7) == pytest.approx(step)
