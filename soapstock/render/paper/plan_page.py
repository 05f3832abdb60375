"""The page of a plan: pours over time, moulds and racks below them; black on white.

In the mould a pour is a black block, on the rack a light bar, and the days on which it may become
ready are framed with a stroke at the expected one. What is not poured yet has an open circle at
its start. Below stand the moulds in use and the bars on the racks, day by day, with a dashed line
for all there are.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path

from reportlab.lib.units import mm

from soapstock.render.pdf.file import new_pdf, paper_size_mm
from soapstock.render.pdf.geometry import Rect
from soapstock.render.pdf.page import Page

_MARGIN, _NAMES_MM, _TOP = 10.0, 62.0, 27.0
_ROW_MM, _LEAST_ROW_MM = 7.5, 4.6
_USE_MM = 21.0  # height of the chart of moulds, and of that of racks
_FOOT_MM = 2 * (_USE_MM + 6.0) + 21.0
_RACK_GREY = 0.85
_LEGEND = (
    "Black: in the mould. Grey: on the rack. Frame: ready between, nine cases of ten, the stroke "
    "on the expected day; tests and release come on top. Open circle: not poured yet. Long "
    "dashes: the day of the plan."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Bar:
    """One pour: its name, its days, and whether it is still to come."""

    label: str
    planned: bool
    poured_on: date
    out_on: date
    early: date | None
    expected: date | None
    late: date | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Use:
    """How much is in use day by day from the first, and how much there is (None: no limit)."""

    title: str
    days: tuple[int, ...]
    most: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanSheet:
    """What the page says."""

    title: str
    subtitle: str
    first: date
    launch: date
    bars: tuple[Bar, ...]
    uses: tuple[Use, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Time:
    """From days to the page."""

    page: Page
    first: date
    last: date

    @property
    def left(self) -> float:
        return _MARGIN + _NAMES_MM

    @property
    def right(self) -> float:
        return self.page.width_mm - _MARGIN

    def x(self, day: date) -> float:
        share = (day - self.first).days / max(1, (self.last - self.first).days)
        return self.left + (self.right - self.left) * min(1.0, max(0.0, share))

    def upright(self, day: date, top: float, bottom: float, *, dash: bool, grey: float) -> None:
        canvas = self.page.canvas
        canvas.setStrokeGray(grey)
        canvas.setLineWidth((0.35 if dash else 0.1) * mm)
        canvas.setDash((4, 3) if dash else ())
        height = self.page.height_mm
        canvas.line(self.x(day) * mm, (height - top) * mm, self.x(day) * mm, (height - bottom) * mm)
        canvas.setDash()


def write_plan_page(path: Path, sheet: PlanSheet, *, paper: str = "a4") -> int:
    """The page, crosswise; more than one only where the pours do not fit. How many pages.

    Raises:
        BadInput: unknown paper, or the file cannot be written.
        RuleBroken: a text that does not fit, or a character the font lacks.
    """
    height, width = paper_size_mm(paper)
    space = height - _TOP - _FOOT_MM
    row_mm = min(_ROW_MM, max(_LEAST_ROW_MM, space / max(1, len(sheet.bars))))
    on_page = int(space / row_mm + 1e-9)
    pages = max(1, math.ceil(len(sheet.bars) / on_page))
    with new_pdf(path, width_mm=width, height_mm=height, title=sheet.title) as canvas:
        for number in range(pages):
            page = Page(canvas=canvas, width_mm=width, height_mm=height)
            mine = sheet.bars[number * on_page : (number + 1) * on_page]
            _draw(page, sheet, mine, row_mm, f"{number + 1} of {pages}" if pages > 1 else "")
            canvas.showPage()
    return pages


def _draw(page: Page, sheet: PlanSheet, bars: Sequence[Bar], row_mm: float, number: str) -> None:
    inner = page.width_mm - 2 * _MARGIN
    head = f"{sheet.title}, page {number}" if number else sheet.title
    page.text(head, Rect(left=_MARGIN, top=8, width=inner, height=7.5), size_pt=15, weight="serif")
    page.text(sheet.subtitle, Rect(left=_MARGIN, top=15.5, width=inner, height=5), size_pt=10)
    ends = [sheet.launch, *(bar.late for bar in sheet.bars if bar.late is not None)]
    time = _Time(page=page, first=sheet.first, last=max(ends) + timedelta(days=2))
    bottom = _TOP + len(bars) * row_mm
    foot = page.height_mm - _FOOT_MM + 6.0
    _weeks(time, _TOP, foot + 2 * (_USE_MM + 6.0) - 6.0)
    for n, bar in enumerate(bars):
        _row(time, bar, _TOP + n * row_mm, row_mm)
    page.line(_MARGIN, bottom, time.right, line_mm=0.1)
    for n, use in enumerate(sheet.uses):
        _use(time, use, foot + n * (_USE_MM + 6.0))
    end = foot + 2 * (_USE_MM + 6.0) - 6.0
    time.upright(sheet.launch, _TOP, end, dash=True, grey=0)
    page.text(
        _LEGEND,
        Rect(left=_MARGIN, top=page.height_mm - 13, width=inner, height=9),
        size_pt=9,
        least_pt=8,
    )


def _weeks(time: _Time, top: float, bottom: float) -> None:
    """Thin uprights each Monday, dated where there is room."""
    days = (time.last - time.first).days
    mondays = [time.first + timedelta(days=n) for n in range(days + 1)]
    mondays = [day for day in mondays if day.weekday() == 0]
    every = max(1, math.ceil(len(mondays) * 15.0 / (time.right - time.left)))
    for n, day in enumerate(mondays):
        time.upright(day, top, bottom, dash=False, grey=0.75)
        spot = Rect(left=time.x(day) - 10, top=top - 5, width=20, height=4.4)
        if n % every == 0 and spot.left + spot.width <= time.right + 4:
            time.page.text(f"{day.day} {day:%b}", spot, size_pt=8.5, align="centre")


def _row(time: _Time, bar: Bar, top: float, row_mm: float) -> None:
    page, thick = time.page, 0.5 * row_mm
    label = Rect(left=_MARGIN, top=top, width=_NAMES_MM - 2, height=row_mm)
    page.text(bar.label, label, size_pt=9.5, least_pt=6, middle=True)
    upper = top + 0.25 * row_mm
    _block(time, bar.out_on, bar.late or time.last, upper, thick, grey=_RACK_GREY, line_mm=0)
    _block(time, bar.poured_on, bar.out_on, upper, thick, grey=0, line_mm=0)
    if bar.early and bar.late:
        late = max(bar.late, bar.early + timedelta(days=1))
        _block(time, bar.early, late, upper, thick, grey=1, line_mm=0.3)
    if bar.expected:
        canvas = page.canvas
        canvas.setStrokeGray(0)
        canvas.setLineWidth(0.6 * mm)
        x, high = time.x(bar.expected) * mm, page.height_mm
        canvas.line(x, (high - upper) * mm, x, (high - upper - thick) * mm)
    if bar.planned:
        page.canvas.setFillGray(1)
        page.canvas.setStrokeGray(0)
        page.canvas.setLineWidth(0.3 * mm)
        y = (page.height_mm - upper - thick / 2) * mm
        page.canvas.circle((time.x(bar.poured_on) - 1.6) * mm, y, 1.1 * mm, stroke=1, fill=1)


def _block(
    time: _Time, first: date, last: date, top: float, thick: float, *, grey: float, line_mm: float
) -> None:
    left, right = time.x(first), time.x(last)
    if right > left:
        box = Rect(left=left, top=top, width=right - left, height=thick)
        time.page.frame(box, line_mm=line_mm, shade=grey)


def _use(time: _Time, use: Use, top: float) -> None:
    """Steps day by day, filled, under the dashed line of all there is."""
    page = time.page
    peak = max([*use.days, use.most or 0, 1])
    words = f"{use.title}\nat most {max(use.days)}" + (
        f" of {use.most}" if use.most is not None else ""
    )
    spot = Rect(left=_MARGIN, top=top, width=_NAMES_MM - 4, height=_USE_MM)
    page.text(words, spot, size_pt=9.5, middle=True, keep_lines=True)
    for n, count in enumerate(use.days):
        day = time.first + timedelta(days=n)
        high = _USE_MM * count / peak
        left, right = time.x(day), time.x(day + timedelta(days=1))
        if count and right > left:
            box = Rect(left=left, top=top + _USE_MM - high, width=right - left, height=high)
            page.frame(box, line_mm=0, shade=0.6)
    page.line(time.left, top + _USE_MM, time.right, line_mm=0.25)
    if use.most is not None:
        page.canvas.setDash((1.2, 2))
        page.line(time.left, top + _USE_MM * (1 - use.most / peak), time.right, line_mm=0.3)
        page.canvas.setDash()
