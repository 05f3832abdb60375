"""The cure chart of a batch, and the rack report of all batches: vectors, black on white.

The chart shows the weighed points, the forecast curve with its 5 to 95 % band, the bone-dry floor,
the declared weight, today, the end of the cure days and the ready window. The report has a line
and a small chart a batch, ordered as given.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from pathlib import Path

from reportlab.lib.colors import HexColor
from reportlab.lib.units import mm

from soapstock.cure.chart import CureChart
from soapstock.errors import BadInput
from soapstock.recipes.ink import Ink
from soapstock.render.paper.rack_card import say_date
from soapstock.render.pdf.file import new_pdf, paper_size_mm
from soapstock.render.pdf.fonts import SEMIBOLD, clean, get_font
from soapstock.render.pdf.geometry import Rect
from soapstock.render.pdf.page import Page

_MARGIN = 14.0
_BAND_GREY, _WINDOW_GREY = 0.86, 0.72
_LABEL_MM = 3.9  # height of a line of small type
_STEPS = (1.0, 2.0, 5.0)
_ROW_MM, _LEAST_ROW_MM, _LEGEND_MM = 16.0, 7.2, 8.0
_LEGEND = (
    "Drying: what is left of a bar's mass at its first day, all batches on one scale of {low:.0f} "
    "to {high:.0f} % and 0 to {days:.0f} days. Line: expected; band: nine cases of ten; dots: "
    "weighed; crosses: set aside; dotted upright: today; dark block at the foot: ready window, "
    "its stroke the expected day. ! looks odd: its own chart says why."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class ChartSheet:
    """What the chart of one batch says.

    Attributes:
        poured_on: day 0 of the chart.
        today: drawn as a line.
        cure_days: least cure, drawn as a line.
        ready_text: the ready-by in words.
        ready_early, ready_expected, ready_late: the window; None when not known.
        declared_g: declared weight, drawn as a line, or None.
        facts: label and value pairs printed below the chart.
        gates: each gate with its state and reason, such as `dry: open, ...`.
        notes: alarms and the like.
        ink: of the variety, for the curve and its band; None draws them black and grey.
    """

    shop_name: str
    recipe_name: str
    lot_code: str
    state: str
    chart: CureChart
    poured_on: date
    today: date
    cure_days: int
    ready_text: str
    ready_early: date | None
    ready_expected: date | None
    ready_late: date | None
    declared_g: float | None
    facts: tuple[tuple[str, str], ...] = ()
    gates: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    ink: Ink | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class _Axes:
    """From days and grams to the page."""

    page: Page
    box: Rect
    first_day: float
    last_day: float
    low_g: float
    high_g: float

    def x(self, day: float) -> float:
        share = (day - self.first_day) / (self.last_day - self.first_day)
        return self.box.left + self.box.width * min(1.0, max(0.0, share))

    def y(self, grams: float) -> float:
        share = (grams - self.low_g) / (self.high_g - self.low_g)
        return self.box.bottom - self.box.height * min(1.0, max(0.0, share))

    def points(self, days_g: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
        return [(self.x(d) * mm, (self.page.height_mm - self.y(g)) * mm) for d, g in days_g]

    def path(
        self,
        days_g: Sequence[tuple[float, float]],
        *,
        grey: float | None = None,
        tint: str = "",
    ) -> None:
        """A line through points, or an area filled with a grey, or a tint where one is given."""
        canvas = self.page.canvas
        path = canvas.beginPath()
        for place, (x, y) in enumerate(self.points(days_g)):
            (path.lineTo if place else path.moveTo)(x, y)
        if grey is not None:
            path.close()
            canvas.setFillGray(grey)
        if tint:
            canvas.setFillColor(HexColor(tint))
        canvas.drawPath(path, stroke=int(grey is None), fill=int(grey is not None))

    def rule(self, start: tuple[float, float], end: tuple[float, float], dash: str = "") -> None:
        """A straight line between two (day, gram) points; dash `long`, `short` or none."""
        canvas = self.page.canvas
        canvas.setDash({"long": (5, 3), "short": (1.2, 2)}.get(dash, ()))
        (x0, y0), (x1, y1) = self.points([start, end])
        canvas.line(x0, y0, x1, y1)
        canvas.setDash()

    def upright(self, day: float, dash: str) -> None:
        self.rule((day, self.low_g), (day, self.high_g), dash)


def nice_step(span: float, wanted: int) -> float:
    """A step of 1, 2 or 5 times a power of ten that divides a span into about so many parts."""
    rough = max(span, 1e-9) / wanted
    power = 10.0 ** math.floor(math.log10(rough))
    return next((s * power for s in _STEPS if s * power >= rough), 10.0 * power)


def _axes(page: Page, box: Rect, sheet: ChartSheet) -> _Axes:
    chart = sheet.chart
    masses = [p.low_g for p in chart.curve] + [p.high_g for p in chart.curve]
    masses += [r.mass_g for r in chart.readings]
    if sheet.declared_g is not None:
        masses.append(sheet.declared_g)
    low, high = min(masses), max(masses)
    if chart.dry_mass_g > low - 0.35 * (high - low):  # the floor, unless it lies far below
        low = min(low, chart.dry_mass_g)
    edge = 0.04 * (high - low) + 0.1
    return _Axes(
        page=page,
        box=box,
        first_day=0.0,
        last_day=chart.curve[-1].day,
        low_g=low - edge,
        high_g=high + edge,
    )


def _curve(
    axes: _Axes, chart: CureChart, ink: Ink | None, *, dot_mm: float, line_mm: float
) -> None:
    canvas = axes.page.canvas
    upper = [(p.day, p.high_g) for p in chart.curve]
    lower = [(p.day, p.low_g) for p in reversed(chart.curve)]
    axes.path(upper + lower, grey=_BAND_GREY, tint=ink.tint if ink else "")
    canvas.setStrokeColor(HexColor(ink.colour if ink else "#000000"))
    canvas.setLineWidth(line_mm * mm)
    axes.path([(p.day, p.mass_g) for p in chart.curve])
    for reading in chart.readings:
        ((x, y),) = axes.points([(reading.day, reading.mass_g)])
        if reading.odd:  # a cross: set aside
            for up in (1, -1):
                r = dot_mm * mm
                canvas.line(x - r, y - up * r, x + r, y + up * r)
        else:
            canvas.setFillGray(1 if reading.reckoned else 0)
            canvas.circle(x, y, dot_mm * mm, stroke=int(reading.reckoned), fill=1)
    canvas.setStrokeGray(0)


def _window(axes: _Axes, sheet: ChartSheet, share: float = 0.035) -> None:
    if sheet.ready_early is None or sheet.ready_late is None:
        return
    first, last = ((d - sheet.poured_on).days for d in (sheet.ready_early, sheet.ready_late))
    band = share * (axes.high_g - axes.low_g)
    corners = [(first, axes.low_g), (max(last, first + 0.4), axes.low_g)]
    corners += [(day, axes.low_g + band) for day, _ in reversed(corners)]
    axes.path([(float(d), g) for d, g in corners], grey=_WINDOW_GREY)
    if sheet.ready_expected is not None:
        middle = float((sheet.ready_expected - sheet.poured_on).days)
        axes.page.canvas.setLineWidth(0.5 * mm)
        axes.rule((middle, axes.low_g), (middle, axes.low_g + band))


def _scales(axes: _Axes, sheet: ChartSheet) -> None:
    page, box = axes.page, axes.box
    canvas = page.canvas
    canvas.setStrokeGray(0.8)
    canvas.setLineWidth(0.1 * mm)
    step = nice_step(axes.high_g - axes.low_g, 7)
    grams = math.ceil(axes.low_g / step) * step
    while grams <= axes.high_g:
        axes.rule((axes.first_day, grams), (axes.last_day, grams))
        tick = Rect(left=box.left - 14, top=axes.y(grams) - 2.2, width=12.5, height=4.4)
        page.text(f"{grams:g}", tick, size_pt=9, align="right", middle=True)
        grams = round(grams + step, 9)
    week = 7.0 * max(1, round(axes.last_day / 7.0 / 10.0))
    day = 0.0
    while day <= axes.last_day + 1e-9:
        axes.upright(day, "")
        on = sheet.poured_on + timedelta(days=round(day))
        tick = Rect(left=axes.x(day) - 10, top=box.bottom + 0.8, width=20, height=8.2)
        page.text(f"{day:g}\n{on.day} {on:%b}", tick, size_pt=9, align="centre", keep_lines=True)
        day += week


def _labelled_lines(axes: _Axes, sheet: ChartSheet) -> None:
    page, box, canvas = axes.page, axes.box, axes.page.canvas
    canvas.setStrokeGray(0)
    canvas.setLineWidth(0.3 * mm)
    levels = [(sheet.chart.dry_mass_g, "bone-dry", "short")]
    if sheet.declared_g is not None:
        levels.append((sheet.declared_g, f"declared {sheet.declared_g:g} g", "long"))
    for grams, words, dash in levels:
        if axes.low_g < grams < axes.high_g:
            axes.rule((axes.first_day, grams), (axes.last_day, grams), dash)
            spot = Rect(left=box.right - 42, top=axes.y(grams) - _LABEL_MM, width=41, height=4)
            page.text(words, spot, size_pt=9, align="right")
    days = [
        (float((sheet.today - sheet.poured_on).days), "today", "long", 0),
        (float(sheet.cure_days), f"cured, day {sheet.cure_days}", "short", 1),
    ]
    for day, words, dash, row in days:
        if axes.first_day <= day <= axes.last_day:
            axes.upright(day, dash)
            right = day > 0.75 * axes.last_day
            left = axes.x(day) - 41 if right else axes.x(day) + 1
            spot = Rect(left=left, top=box.top + 1 + row * _LABEL_MM, width=40, height=4)
            page.text(words, spot, size_pt=9, align="right" if right else "left")


def _draw_chart(page: Page, sheet: ChartSheet, box: Rect) -> None:
    axes = _axes(page, box, sheet)
    _scales(axes, sheet)
    _window(axes, sheet)
    _curve(axes, sheet.chart, sheet.ink, dot_mm=1.1, line_mm=0.5)
    _labelled_lines(axes, sheet)
    page.frame(box, line_mm=0.3)


def write_cure_chart(path: Path, sheet: ChartSheet, *, paper: str = "a4") -> None:
    """The chart of one batch on one page, upright, written whole or not at all.

    Args:
        path: the PDF to write.
        sheet: what it says.
        paper: `a4` or `letter`.

    Raises:
        BadInput: unknown paper, or the file cannot be written.
        RuleBroken: a text that does not fit, or a character the font lacks.
    """
    width, height = paper_size_mm(paper)
    title = f"Cure of {sheet.lot_code}"
    with new_pdf(path, width_mm=width, height_mm=height, title=title) as canvas:
        page = Page(canvas=canvas, width_mm=width, height_mm=height)
        inner = width - 2 * _MARGIN
        head = Rect(left=_MARGIN, top=12, width=inner, height=9)
        page.text(
            f"{sheet.recipe_name}  {sheet.lot_code}",
            head,
            size_pt=20,
            least_pt=12,
            weight="serif",
        )
        page.text(
            f"{sheet.shop_name}: {sheet.state} on {say_date(sheet.today)}, poured "
            f"{say_date(sheet.poured_on)}. Ready by: {sheet.ready_text}.",
            Rect(left=_MARGIN, top=21.5, width=inner, height=11),
            size_pt=11,
        )
        page.text(
            "g a bar", Rect(left=_MARGIN, top=33, width=30, height=4.5), size_pt=9, weight=SEMIBOLD
        )
        box = Rect(left=_MARGIN + 13, top=38, width=inner - 18, height=115)
        _draw_chart(page, sheet, box)
        page.text(
            "days since the pour. Dots: weighed; open dot: reckoned from the pot; crosses: set"
            " aside. Line: expected; light band: nine cases of ten. Dark bar at the foot: ready"
            " window.",
            Rect(left=box.left, top=box.bottom + 10, width=box.width, height=9),
            size_pt=9,
        )
        _below(page, sheet, box.bottom + 21, inner)
        canvas.showPage()


def _below(page: Page, sheet: ChartSheet, top: float, inner: float) -> None:
    """Facts in two columns, then gates and notes."""
    y = top
    for place, (label, value) in enumerate(sheet.facts):
        left = _MARGIN + (place % 2) * inner / 2
        spot = Rect(left=left, top=y, width=inner / 2 - 3, height=6.6)
        page.text(f"{label}: {value}", spot, size_pt=10.5, least_pt=8)
        y += 7.0 * (place % 2)
    y += 7.0 * (len(sheet.facts) % 2) + 2
    for heading, lines in (("Gates", sheet.gates), ("Look at", sheet.notes)):
        if not lines or y > page.height_mm - 24:
            continue
        title = Rect(left=_MARGIN, top=y, width=inner, height=6)
        page.text(heading, title, size_pt=11, weight=SEMIBOLD)
        room = Rect(left=_MARGIN, top=y + 5.5, width=inner, height=page.height_mm - 14 - y - 5.5)
        set_text = page.text(
            "\n".join(f"– {line}" for line in lines), room, size_pt=10.5, least_pt=7
        )
        y += 5.5 + set_text.height_mm + 3


@dataclass(frozen=True, slots=True, kw_only=True)
class RackRow:
    """One batch of the rack report: its small chart and what stands beside it."""

    sheet: ChartSheet
    bars: str
    day: str
    weight: str
    ready: str
    missing: str


_COLUMNS = (
    ("Lot and bar", 0.15),
    ("Bars", 0.05),
    ("Day", 0.07),
    ("Drying", 0.24),
    ("Weight, g", 0.1),
    ("Weighed now: g, bars", 0.135),
    ("Ready by", 0.13),
    ("Still needs", 0.125),
)


def write_rack_report(
    path: Path, rows: Sequence[RackRow], *, shop_name: str, today: date, paper: str = "a4"
) -> int:
    """All batches on one page if they fit (about two dozen), most urgent first as given.

    Args:
        path: the PDF to write.
        rows: at least one.
        shop_name: for the head.
        today: for the head.
        paper: `a4` or `letter`, used crosswise.

    Returns:
        pages written.

    Raises:
        BadInput: no rows, unknown paper, or the file cannot be written.
        RuleBroken: a text that does not fit, or a character the font lacks.
    """
    if not rows:
        raise BadInput("no batch to report", hint="pour one first")
    height, width = paper_size_mm(paper)
    space = height - 2 * 10 - 17 - _LEGEND_MM
    row_mm = min(_ROW_MM, max(_LEAST_ROW_MM, space / len(rows)))
    on_page = int(space / row_mm + 1e-9)
    pages = math.ceil(len(rows) / on_page)
    scale = _one_scale([row.sheet for row in rows])
    with new_pdf(path, width_mm=width, height_mm=height, title="Rack report") as canvas:
        for number in range(pages):
            page = Page(canvas=canvas, width_mm=width, height_mm=height)
            head = f"{shop_name}: what stands on the racks on {say_date(today)}"
            if pages > 1:
                head += f", page {number + 1} of {pages}"
            inner = Rect(left=10, top=9, width=width - 20, height=8)
            page.text(head, inner, size_pt=15, least_pt=10, weight="serif")
            _rack_head(page, inner)
            for place, row in enumerate(rows[number * on_page : (number + 1) * on_page]):
                _rack_row(page, row, 26 + place * row_mm, row_mm, scale)
            _legend(page, scale)
            canvas.showPage()
    return pages


def _cells(page: Page, top: float, height: float) -> list[Rect]:
    left, width = 10.0, page.width_mm - 20
    cells = []
    for _, share in _COLUMNS:
        cells.append(Rect(left=left + 0.8, top=top, width=width * share - 1.6, height=height))
        left += width * share
    return cells


def _rack_head(page: Page, inner: Rect) -> None:
    for (name, _), cell in zip(_COLUMNS, _cells(page, 19.5, 5), strict=True):
        page.text(name, cell, size_pt=10, weight=SEMIBOLD)
    page.line(inner.left, 25.5, inner.right, line_mm=0.3)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Scale:
    """What the small charts share: days, and percent of the first day's mass."""

    last_day: float
    low: float
    high: float


def _in_percent(sheet: ChartSheet) -> ChartSheet:
    """The same with masses in percent of what is expected on the first day of its curve."""
    chart = sheet.chart
    part = 100.0 / chart.curve[0].mass_g
    return replace(
        sheet,
        chart=replace(
            chart,
            curve=tuple(
                replace(p, low_g=p.low_g * part, mass_g=p.mass_g * part, high_g=p.high_g * part)
                for p in chart.curve
            ),
            readings=tuple(replace(r, mass_g=r.mass_g * part) for r in chart.readings),
            dry_mass_g=chart.dry_mass_g * part,
        ),
        declared_g=None,
    )


def _one_scale(sheets: Sequence[ChartSheet]) -> _Scale:
    charts = [_in_percent(sheet).chart for sheet in sheets]
    masses = [m for c in charts for p in c.curve for m in (p.low_g, p.high_g)]
    masses += [r.mass_g for c in charts for r in c.readings]
    return _Scale(
        last_day=max(c.curve[-1].day for c in charts),
        low=math.floor(min(masses)),
        high=math.ceil(max(masses)),
    )


def _legend(page: Page, scale: _Scale) -> None:
    words = _LEGEND.format(low=scale.low, high=scale.high, days=scale.last_day)
    box = Rect(left=10, top=page.height_mm - 17, width=page.width_mm - 20, height=_LEGEND_MM)
    page.text(words, box, size_pt=9, least_pt=7)


def _rack_row(page: Page, row: RackRow, top: float, height: float, scale: _Scale) -> None:
    cells = _cells(page, top + 0.3, height - 0.6)
    name, bars, day, drying, weight, now, ready, missing = cells
    sheet = row.sheet
    label = f"{sheet.lot_code}\n{sheet.recipe_name}"
    for text, cell in (
        (label, name),
        (row.bars, bars),
        (row.day, day),
        (row.weight, weight),
        (row.ready, ready),
        (row.missing, missing),
    ):
        if text:
            page.text(
                clean(text, get_font("regular"), "the rack report"),
                cell,
                size_pt=9,
                least_pt=5.5,
                middle=True,
                leading=1.1,
            )
    page.frame(Rect(left=now.left, top=top + 0.8, width=now.width, height=height - 1.6))
    shared = _in_percent(sheet)
    axes = _Axes(
        page=page,
        box=drying,
        first_day=0.0,
        last_day=scale.last_day,
        low_g=scale.low,
        high_g=scale.high,
    )
    _window(axes, shared, 0.14)
    _curve(axes, shared.chart, shared.ink, dot_mm=0.5, line_mm=0.3)
    page.canvas.setLineWidth(0.15 * mm)
    axes.upright(float((sheet.today - sheet.poured_on).days), "short")
    page.line(10, top + height, page.width_mm - 10, line_mm=0.1)
