"""The answers about one batch's cure."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal
from typing import TYPE_CHECKING

from soapstock.chemistry.interval import Interval
from soapstock.desk.desk import Desk, one_snapshot
from soapstock.desk.finding import read_lot
from soapstock.errors import BadInput, RuleBroken
from soapstock.exchange.tabular import SPREAD
from soapstock.units import format_g
from soapstock.views.batch import BatchView, view
from soapstock.views.lists import BatchRow, row

if TYPE_CHECKING:
    from soapstock.cure.chart import CureChart
    from soapstock.cure.model import DaysInterval, Forecast


CHANCE_DAYS = (0, 7, 14, 21, 28)
UNMOULD_AFTER_DAYS = 1  # a day in the mould; common practice, no source
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

    def curve_at(self, columns: int) -> list[tuple[float, float, float, float]]:
        """Day, low, middle and high mass, g, at so many even steps from the pour to the end."""
        curve, last = self.chart.curve, self.chart.curve[-1].day
        days = [last * i / (columns - 1) for i in range(columns)]
        shown = [day for day in days if day >= curve[0].day]
        masses = self.forecast.mass_points(shown).tolist()
        return [(day, low, mid, high) for day, (low, mid, high) in zip(shown, masses, strict=True)]


@one_snapshot
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
            f"{item.facts.lot_code.shown} has no mass and its recipe no bar size",
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
        chart=chart_points(
            known,
            max(item.cure_days, today) + 21.0,
            start_reckoned=item.facts.pour.from_before,
        ),
        loss_so_far_percent=so_far,
        loss_to_come_percent=to_come,
        chances=tuple(zip(ahead, chances, strict=True)),
        next_weigh_in=_day(item, proposal.day) if proposal else None,
        spread_now_days=proposal.spread_now_days if proposal else None,
        spread_then_days=proposal.spread_then_days if proposal else None,
        highest_declared_g=Decimal(math.floor(highest * 10)) / 10,
        under_declared=answers.day_under(known, float(declared)) if declared else None,
    )


PAYS_DAYS = 0.5  # a weigh-in that narrows the dry date by less is not worth the walk; our own


@dataclass(frozen=True, slots=True, kw_only=True)
class Pays:
    """The weigh-in that narrows the dry date most: its day, and the date's sd before and after."""

    on: date
    spread_now_days: float
    spread_then_days: float


def next_weigh_in(desk: Desk, item: BatchView) -> Pays | None:
    """The weigh-in that pays next: today, when today's would and none was entered today."""
    from soapstock.cure import answers

    if item.forecast is None or item.facts.unmould is None:
        return None
    last = max([item.facts.unmould.on, *(w.on for w in item.facts.weigh_ins)])
    since = item.day - (0 if last >= desk.today else 1)  # today itself is asked about, too
    limit = desk.shop.dry_week_loss_percent
    found = answers.next_weigh_in(item.forecast, float(since), week_loss_percent=limit)
    if found is None:
        return None
    if last < desk.today:  # the best day recedes while nobody weighs: what pays today is due today
        now = answers.next_weigh_in(
            item.forecast, float(since), week_loss_percent=limit, within_days=1
        )
        if now is not None and now.spread_now_days - now.spread_then_days >= PAYS_DAYS:
            found = now
    return Pays(
        on=_day(item, found.day),
        spread_now_days=found.spread_now_days,
        spread_then_days=found.spread_then_days,
    )


def _day(item: BatchView, day: float) -> date:
    return item.facts.poured_on + timedelta(days=round(day))


@dataclass(frozen=True, slots=True, kw_only=True)
class OnDay:
    """A bar on a day: its mass, g, and the chance that it is both cured and dry."""

    on: date
    mass_g: Interval = field(metadata=SPREAD)
    chance_ready: float


def on_day(desk: Desk, seen: CureView, day: date) -> OnDay:
    """A bar on a day: its mass (5, 50 and 95 %), and the chance; test and release are for people.

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
        seen.forecast,
        float(age),
        cure_days=seen.item.cure_days,
        week_loss_percent=desk.shop.dry_week_loss_percent,
    )
    mass = seen.forecast.mass_at(float(age)).rounded(1)
    return OnDay(on=day, mass_g=mass, chance_ready=round(chance, 3))


@dataclass(frozen=True, slots=True, kw_only=True)
class ChanceRow:
    """The chance, 0 to 1, that a batch is cured and dry on a day."""

    on: date
    chance: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingRow:
    """A bar as weighed, g, on a day since the pour; `odd` when the model set it aside.

    `reckoned`: nobody weighed it, it follows from what went into the pot.
    """

    day: float
    mass_g: float
    odd: bool
    reckoned: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class CurveRow:
    """The forecast mass of a bar, g, on a day since the pour."""

    day: float
    mass_g: Interval


@dataclass(frozen=True, slots=True, kw_only=True)
class Dates:
    """When something is expected: 5, 50 and 95 % dates."""

    early: date
    expected: date
    late: date


@dataclass(frozen=True, slots=True, kw_only=True)
class CureRow:
    """The cure of a batch; as in `CureView`, the days a bar drops under its label as dates."""

    batch: BatchRow = field(metadata=SPREAD)
    loss_so_far_percent: float
    loss_to_come_percent: float
    chance_ready: tuple[ChanceRow, ...]
    next_weigh_in: date | None
    highest_declared_g: Decimal
    under_declared: Dates | None
    prior: str
    readings: tuple[ReadingRow, ...]
    curve: tuple[CurveRow, ...]
    on_day: OnDay | None


def cure_row(desk: Desk, seen: CureView, on: date | None = None) -> CureRow:
    """The cure of a batch as a record, with a bar `on` a day. Raises BadInput as `on_day` does."""
    return CureRow(
        batch=row(seen.item),
        loss_so_far_percent=round(seen.loss_so_far_percent, 2),
        loss_to_come_percent=round(seen.loss_to_come_percent, 2),
        chance_ready=tuple(ChanceRow(on=day, chance=round(c, 3)) for day, c in seen.chances),
        next_weigh_in=seen.next_weigh_in,
        highest_declared_g=seen.highest_declared_g,
        under_declared=_dates(seen.item, seen.under_declared),
        prior=seen.forecast.prior.basis,
        readings=tuple(
            ReadingRow(day=r.day, mass_g=round(r.mass_g, 2), odd=r.odd, reckoned=r.reckoned)
            for r in seen.chart.readings
        ),
        curve=tuple(
            CurveRow(
                day=round(p.day, 2),
                mass_g=Interval(low=p.low_g, nominal=p.mass_g, high=p.high_g).rounded(2),
            )
            for p in seen.chart.curve
        ),
        on_day=None if on is None else on_day(desk, seen, on),
    )


def _dates(item: BatchView, days: DaysInterval | None) -> Dates | None:
    if days is None:
        return None
    return Dates(
        early=_day(item, days.early),
        expected=_day(item, days.expected),
        late=_day(item, days.late),
    )


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
        (
            "Water in it now",
            f"{100 * water.nominal:.0f} % ({100 * water.low:.0f} to {100 * water.high:.0f})",
        ),
        ("Highest weight to declare", f"{seen.highest_declared_g} g, 95 % sure"),
        ("Declared weight", _under_text(seen)),
        ("Next weigh-in", _next_text(seen)),
        ("Expected like", known.prior.basis),
    ]
    return rows


def _under_text(seen: CureView) -> str:
    declared, under = seen.item.recipe.declared_weight_g, seen.under_declared
    if declared is None:
        return "no weight declared"
    if under is None:
        return f"{format_g(declared, 1)} holds for two years and more"
    age = float(seen.item.day)
    if under.expected <= age:
        return f"the mean bar is under {format_g(declared, 1)} already"
    months = (under.early - age) / (365.25 / 12.0)
    if months <= 0:
        return f"some chance that it is under {format_g(declared, 1)} already"
    return f"{format_g(declared, 1)} holds for {months:.1f} months more (95 % sure)"


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
