"""A plan over time: each pour's way from mould to rack to ready, and how full both are."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

from soapstock.planning.occupancy import DayUse, occupancy

if TYPE_CHECKING:
    from soapstock.planning.task import PlannedPour
    from soapstock.views.batch import BatchView
    from soapstock.views.plan import Planned

_WEEK = 7


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """One pour over time.

    Attributes:
        planned: not poured yet.
        out_on: the day its bars leave the mould.
        early, expected, late: the day it is ready, nine cases of ten; None where not known.
    """

    name: str
    lot: str
    bars: int
    planned: bool
    poured_on: date
    out_on: date
    early: date | None
    expected: date | None
    late: date | None


@dataclass(frozen=True, slots=True, kw_only=True)
class WeekUse:
    """A week of a plan: what is poured and becomes ready, and the fullest day of it."""

    from_: date
    pours: tuple[str, ...]
    moulds: int
    rack_bars: int
    ready: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanPage:
    """What the page of a plan shows.

    Attributes:
        mould_count, rack_places: what there is; None for racks without a limit.
    """

    first: date
    launch: date
    ways: tuple[Way, ...]
    use: tuple[DayUse, ...]
    weeks: tuple[WeekUse, ...]
    mould_count: int
    rack_places: int | None


def plan_page(seen: Planned) -> PlanPage:
    """The plan over time, batches that still cure first, by the day they were poured."""
    pours = seen.plan.pours if seen.plan else ()
    ways = [_of_batch(item) for item in seen.curing]
    ways += [_of_pour(seen, pour) for pour in pours]
    use = occupancy(seen.task, pours)
    return PlanPage(
        first=seen.task.first,
        launch=seen.task.launch,
        ways=tuple(ways),
        use=tuple(use),
        weeks=tuple(_weeks(ways, use)),
        mould_count=sum(m.count for m in seen.task.moulds),
        rack_places=seen.task.rack_places,
    )


def _of_batch(item: BatchView) -> Way:
    facts, ready = item.facts, item.ready_by
    out = facts.unmould.on if facts.unmould is not None else item.today + timedelta(days=1)
    return Way(
        name=item.recipe.name,
        lot=facts.lot_code.shown,
        bars=item.bars,
        planned=False,
        poured_on=facts.poured_on,
        out_on=out,
        early=ready.early if ready else None,
        expected=ready.expected if ready else None,
        late=ready.late if ready else None,
    )


def _of_pour(seen: Planned, pour: PlannedPour) -> Way:
    standing = next(s for s in seen.standings if s.code == pour.code)
    coming = standing.coming
    early, expected = (
        pour.day + timedelta(days=max(coming.cure_days, int(days) + 1))
        for days in coming.dry_days[:2]
    )
    moulds = {m.name: m.days for m in seen.task.moulds}
    return Way(
        name=standing.name,
        lot="",
        bars=pour.bars,
        planned=True,
        poured_on=pour.day,
        out_on=pour.day + timedelta(days=max(moulds[name] for name, _ in pour.moulds)),
        early=early,
        expected=expected,
        late=pour.day + timedelta(days=coming.late_days),
    )


def _weeks(ways: list[Way], use: list[DayUse]) -> list[WeekUse]:
    found = []
    for n in range(0, len(use), _WEEK):
        days = use[n : n + _WEEK]
        first, last = days[0].day, days[-1].day
        found.append(
            WeekUse(
                from_=first,
                pours=tuple(w.name for w in ways if w.planned and first <= w.poured_on <= last),
                moulds=max(day.moulds for day in days),
                rack_bars=max(day.rack_bars for day in days),
                ready=tuple(w.name for w in ways if w.late and first <= w.late <= last),
            )
        )
    return found
