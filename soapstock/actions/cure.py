"""The cure of a batch in full, the rack report, and the calendar of what is to be done."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Any

from soapstock.actions.batches import WAITING, BatchView, curing, record, still_needs, view, views
from soapstock.actions.desk import Desk, read_lot
from soapstock.actions.printing import UNMOULD_AFTER_DAYS
from soapstock.codes.lot import format_code
from soapstock.errors import BadInput, RuleBroken

if TYPE_CHECKING:
    from soapstock.cure.chart import CureChart
    from soapstock.cure.model import DaysInterval, Forecast
    from soapstock.exchange.calendar import CalendarEvent
    from soapstock.render.paper.cure_chart import ChartSheet

CHANCE_DAYS = (0, 7, 14, 21, 28)
TURN_EVERY_DAYS = 4  # one guide turns bars every 3 to 4 days; common practice


@dataclass(frozen=True, slots=True, kw_only=True)
class CureView:
    """What a maker asks of one batch's cure.

    Attributes:
        item: the batch as it stands today.
        forecast: its forecast.
        chart: points of its chart.
        loss_so_far_percent, loss_to_come_percent: of the start mass.
        chances: chance to be dry and cured on days from today on.
        next_weigh_in: the day that would narrow the date most, None when none would help.
        spread_now_days, spread_then_days: sd of the dry date now and after that weigh-in.
        highest_declared_g: highest weight that holds at pack and best-before with 95 %, to 0.1 g.
        under_declared: when a bar drops under its label, None when it does not in two years.
    """

    item: BatchView
    forecast: Forecast
    chart: CureChart
    loss_so_far_percent: float
    loss_to_come_percent: float
    chances: tuple[tuple[date, float], ...]
    next_weigh_in: date | None
    spread_now_days: float | None
    spread_then_days: float | None
    highest_declared_g: Decimal
    under_declared: DaysInterval | None


def cure(desk: Desk, lot: str) -> CureView:
    """The cure of one batch. Raises BadInput, NotFound; RuleBroken when no mass is known."""
    return cure_view(desk, view(desk, read_lot(desk, lot, kind="batch")))


def cure_view(desk: Desk, item: BatchView) -> CureView:
    """What there is to say of a batch's cure."""
    from soapstock.cure import answers
    from soapstock.cure.chart import chart_points

    known = item.forecast
    if known is None:
        raise RuleBroken(
            f"{format_code(item.facts.lot_code)} has no mass and its recipe no bar size",
            hint="unmould it with the mass of its bars first",
        )
    today, limit = float(item.day), desk.shop.dry_week_loss_percent
    so_far, to_come = answers.losses_percent(known, today)
    ahead = [desk.today + timedelta(days=n) for n in CHANCE_DAYS]
    chances = answers.chances_by_day(
        known, [today + n for n in CHANCE_DAYS], cure_days=item.cure_days, week_loss_percent=limit
    )
    proposal = None
    if item.facts.unmould is not None:
        proposal = answers.next_weigh_in(known, today, week_loss_percent=limit)
    until = item.best_before
    highest = answers.highest_declared_g(
        known,
        pack_day=max(today, float(item.cure_days)),
        until_day=float((until - item.facts.poured_on).days) if until else None,
    )
    declared = item.recipe.declared_weight_g
    return CureView(
        item=item,
        forecast=known,
        chart=chart_points(known, max(item.cure_days, today) + 21.0),
        loss_so_far_percent=so_far,
        loss_to_come_percent=to_come,
        chances=tuple(zip(ahead, chances, strict=True)),
        next_weigh_in=_day(item, proposal.day) if proposal else None,
        spread_now_days=proposal.spread_now_days if proposal else None,
        spread_then_days=proposal.spread_then_days if proposal else None,
        highest_declared_g=Decimal(math.floor(highest * 10)) / 10,
        under_declared=answers.day_under(known, float(declared)) if declared else None,
    )


def _day(item: BatchView, day: float) -> date:
    return item.facts.poured_on + timedelta(days=round(day))


def on_day(desk: Desk, seen: CureView, day: date) -> dict[str, float]:
    """A bar on a day: low, nominal and high mass, g (5, 50 and 95 %), and the chance it is ready.

    The chance is that of being both cured and dry; tests and release are for people.

    Raises:
        BadInput: the day is before the pour.
    """
    from soapstock.cure.answers import chance_ready

    age = (day - seen.item.facts.poured_on).days
    if age < 0:
        raise BadInput(
            f"{day.isoformat()} is before the pour on {seen.item.facts.poured_on.isoformat()}"
        )
    chance = chance_ready(
        seen.forecast, float(age), cure_days=seen.item.cure_days,
        week_loss_percent=desk.shop.dry_week_loss_percent,
    )  # fmt: skip
    masses = seen.forecast.mass_at(float(age)).as_dict()
    return {k: round(v, 1) for k, v in masses.items()} | {"chance_ready": round(chance, 3)}


def cure_record(desk: Desk, seen: CureView, on: date | None = None) -> dict[str, Any]:
    """The cure of a batch as a JSON record."""
    under = seen.under_declared
    poured = seen.item.facts.poured_on
    found = record(seen.item) | {
        "loss_so_far_percent": round(seen.loss_so_far_percent, 2),
        "loss_to_come_percent": round(seen.loss_to_come_percent, 2),
        "chance_ready": [{"on": day, "chance": round(c, 3)} for day, c in seen.chances],
        "next_weigh_in": seen.next_weigh_in,
        "highest_declared_g": seen.highest_declared_g,
        "under_declared": (
            {
                "early": poured + timedelta(days=round(under.early)),
                "expected": poured + timedelta(days=round(under.expected)),
                "late": poured + timedelta(days=round(under.late)),
            }
            if under
            else None
        ),
        "prior": seen.forecast.prior.basis,
        "readings": [
            {"day": r.day, "mass_g": round(r.mass_g, 2), "odd": r.odd} for r in seen.chart.readings
        ],
        "curve": [
            {"day": round(p.day, 2), "low_g": round(p.low_g, 2), "mass_g": round(p.mass_g, 2),
             "high_g": round(p.high_g, 2)}
            for p in seen.chart.curve
        ],
    }  # fmt: skip
    if on is not None:
        found["on_day"] = {"on": on, **on_day(desk, seen, on)}
    return found


def facts_of(seen: CureView) -> list[tuple[str, str]]:
    """The answers as label and value, for the screen and the printed chart."""
    item, known = seen.item, seen.forecast
    now, end = known.mass_at(float(item.day)), known.final_mass()
    water = known.water_fraction_at(float(item.day))
    rows = [
        ("Bar now", f"{now.nominal:.1f} g ({now.low:.1f} to {now.high:.1f})"),
        ("Bar in the end", f"{end.nominal:.1f} g ({end.low:.1f} to {end.high:.1f})"),
        ("Lost so far", f"{seen.loss_so_far_percent:.1f} % of its start"),
        ("Still to lose", f"{seen.loss_to_come_percent:.1f} %"),
        ("Water in it now", f"{100 * water.nominal:.0f} % ({100 * water.low:.0f} to "
         f"{100 * water.high:.0f})"),
        ("Highest weight to declare", f"{seen.highest_declared_g} g, 95 % sure"),
        ("Under its label", _under_text(seen)),
        ("Next weigh-in", _next_text(seen)),
        ("Expected like", known.prior.basis),
    ]  # fmt: skip
    return rows


def _under_text(seen: CureView) -> str:
    declared, under = seen.item.recipe.declared_weight_g, seen.under_declared
    if declared is None:
        return "no weight declared"
    if under is None:
        return f"{declared:g} g holds for two years and more"
    age = float(seen.item.day)
    if under.expected <= age:
        return f"the mean bar is under {declared:g} g already"
    months = (under.early - age) / (365.25 / 12.0)
    if months <= 0:
        return f"some chance that it is under {declared:g} g already"
    return f"{declared:g} g holds for {months:.1f} months more (95 % sure)"


def _next_text(seen: CureView) -> str:
    if seen.item.facts.unmould is None:
        return "at unmoulding"
    if seen.next_weigh_in is None or seen.spread_now_days is None or seen.spread_then_days is None:
        return "none needed for the date"
    day = seen.next_weigh_in
    return (
        f"{day.day} {day:%b}: narrows the dry date from ±{seen.spread_now_days:.1f} to "
        f"±{seen.spread_then_days:.1f} days"
    )


def chart_sheet(desk: Desk, seen: CureView) -> ChartSheet:
    """What the printed chart of a batch says."""
    from soapstock.render.paper.cure_chart import ChartSheet

    item = seen.item
    ready = item.readiness.ready_by
    declared = item.recipe.declared_weight_g
    gates = item.readiness.gates.values()
    return ChartSheet(
        shop_name=desk.shop.maker,
        recipe_name=item.recipe.name,
        lot_code=format_code(item.facts.lot_code),
        state=item.readiness.state,
        chart=seen.chart,
        poured_on=item.facts.poured_on,
        today=desk.today,
        cure_days=item.cure_days,
        ready_early=ready.early if ready else None,
        ready_expected=ready.expected if ready else None,
        ready_late=ready.late if ready else None,
        declared_g=float(declared) if declared else None,
        facts=tuple(facts_of(seen)),
        gates=tuple(f"{g.name}: {'open' if g.open else 'SHUT'}, {g.reason}" for g in gates),
        notes=tuple(problem.message for problem in item.alarms),
    )


def write_chart(desk: Desk, seen: CureView, path: Path) -> None:
    """The chart as PDF, or as a picture when the file ends in .png.

    Raises:
        BadInput: another ending, or the file cannot be written.
    """
    from soapstock.render.paper.cure_chart import write_cure_chart

    if path.suffix.lower() not in (".pdf", ".png"):
        raise BadInput(f"{path} is neither .pdf nor .png", hint="end the file's name in .pdf")
    sheet = chart_sheet(desk, seen)
    if path.suffix.lower() == ".pdf":
        write_cure_chart(path, sheet, paper=desk.shop.paper)
        return
    import tempfile

    from soapstock.render.pdf.page_picture import page_to_png

    with tempfile.TemporaryDirectory(prefix="soapstock-") as folder:
        pdf = Path(folder) / "chart.pdf"
        write_cure_chart(pdf, sheet, paper=desk.shop.paper)
        page_to_png(pdf, path)


def write_rack(desk: Desk, path: Path, *, everything: bool = False) -> tuple[int, int]:
    """The rack report; batches and pages in it.

    Args:
        path: the PDF to write.
        everything: ready batches too, not only those waiting.

    Raises:
        BadInput: nothing to report, or the file cannot be written.
    """
    from soapstock.render.paper.cure_chart import RackRow, write_rack_report

    items = curing(desk)
    if everything:
        waiting = {item.facts.lot_code for item in items}
        items += [
            item for item in views(desk)
            if item.facts.lot_code not in waiting and item.readiness.state == "ready"
        ]  # fmt: skip
    rows = [
        RackRow(
            sheet=chart_sheet(desk, cure_view(desk, item)),
            bars=str(item.bars) if item.facts.unmould else "?",
            day=f"{item.day}/{item.cure_days}",
            weight=_weight_text(item),
            ready=_ready_text(item, desk.today),
            missing=_missing_text(item),
        )
        for item in items
        if item.forecast is not None
    ]
    pages = write_rack_report(
        path, rows, shop_name=desk.shop.maker, today=desk.today, paper=desk.shop.paper
    )
    return len(rows), pages


def _weight_text(item: BatchView) -> str:
    if item.last_weight_g is None or not item.start_g:
        return "in mould"
    lost = 100.0 * (1.0 - item.last_weight_g / item.start_g)
    return f"{item.last_weight_g:.1f} (−{lost:.1f} %)" if lost else f"{item.last_weight_g:.1f}"


def _ready_text(item: BatchView, today: date) -> str:
    ready = item.readiness.ready_by
    if ready is None:
        return "not known"
    if ready.late <= today:
        return "days are up"
    middle = f"{ready.expected.day} {ready.expected:%b}"
    if ready.early == ready.late:
        return middle
    return f"{middle} ({ready.early.day} {ready.early:%b} to {ready.late.day} {ready.late:%b})"


def _missing_text(item: BatchView) -> str:
    if item.readiness.state == "on hold":
        return "ON HOLD"
    words = ", ".join(still_needs(item)) or "ready"
    return f"! {words}" if item.alarms else words


def calendar(desk: Desk) -> list[CalendarEvent]:
    """What is to be done from today on: unmould, turn, weigh, test, ready."""
    found: list[CalendarEvent] = []
    for item in views(desk):
        if item.readiness.state in WAITING and item.readiness.state != "on hold":
            found += _events(desk, item)
    return found


def _events(desk: Desk, item: BatchView) -> Sequence[CalendarEvent]:
    from soapstock.exchange.calendar import CalendarEvent

    code, lot = item.facts.lot_code, format_code(item.facts.lot_code)
    what = f"{item.recipe.name}, {lot}"
    today, poured = desk.today, item.facts.poured_on
    cured = poured + timedelta(days=item.cure_days)
    ready = item.readiness.ready_by
    found = []

    def add(kind: str, on: date, title: str, details: str, **more: Any) -> None:
        found.append(
            CalendarEvent(
                key=f"{code}-{kind}",
                on=max(on, today),
                title=f"{title} {what}",
                details=details,
                **more,
            )
        )

    if item.facts.unmould is None:
        due = poured + timedelta(days=UNMOULD_AFTER_DAYS)
        add("unmould", due, "Unmould", "Count and weigh the bars; gloves: it still holds lye.")
        began = due
    else:
        began = item.facts.unmould.on
    turns = began + timedelta(days=TURN_EVERY_DAYS)
    while turns < today:
        turns += timedelta(days=TURN_EVERY_DAYS)
    if turns < cured:
        add("turn", turns, "Turn", "Turn the bars and leave air between them.",
            every_days=TURN_EVERY_DAYS, until=cured)  # fmt: skip
    if item.forecast is not None:
        seen = cure_view(desk, item)
        if seen.next_weigh_in is not None:
            add("weigh", seen.next_weigh_in, "Weigh", "The same counted bars; " + _next_text(seen))
    if not item.readiness.gates["tested"].open:
        add("test", cured, "Test", "Free-alkali test: tongue, phenolphthalein or titration.")
    if ready is not None:
        window = f"Expected between {ready.early.isoformat()} and {ready.late.isoformat()}, "
        words = "The days are up." if ready.late <= today else window + "nine cases of ten."
        add("ready", ready.expected, "Ready by: release", words)
    return found


def write_calendar(desk: Desk, path: Path) -> int:
    """The calendar as an .ics file; how many events. Raises BadInput."""
    from soapstock.exchange.calendar import calendar_text
    from soapstock.exchange.text_file import write_text_file

    if path.suffix.lower() != ".ics":
        raise BadInput(f"{path} does not end in .ics", hint="name the file like cure.ics")
    events = calendar(desk)
    text = calendar_text(events, name=f"{desk.shop.maker}: cure", made_at=desk.now)
    write_text_file(path, text)
    return len(events)
