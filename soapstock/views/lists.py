"""Lists of batches: what cures, what is ready, and the rows they hand over."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import TYPE_CHECKING

from soapstock.desk.desk import Desk
from soapstock.exchange.tabular import SPREAD
from soapstock.views.batch import BatchView, views

if TYPE_CHECKING:
    from soapstock.chemistry.interval import Interval
    from soapstock.codes.lot import LotCode
    from soapstock.cure.gates import ReadyBy, State


@dataclass(frozen=True, slots=True, kw_only=True)
class BatchRow:
    """A batch as the lists, its history and its cure hand it over; masses of a bar in g.

    Attributes:
        gates: whether each is open; `reasons` says why.
        missing: what is still to come or to do.
        marks: what looks odd.
        places: good bars by place.
    """

    lot: LotCode
    recipe: str
    state: State
    bars: int
    ready_by: ReadyBy | None
    gates: Mapping[str, bool]
    best_before: date | None
    day: int
    cure_days: int
    start_g: float | None
    weight_g: float | None
    final_g: Interval | None
    reasons: Mapping[str, str]
    missing: tuple[str, ...]
    marks: tuple[str, ...]
    places: Mapping[str, int]


def row(item: BatchView) -> BatchRow:
    """The record of a batch in the curing and ready lists."""
    gates = item.readiness.gates
    return BatchRow(
        lot=item.facts.lot_code,
        recipe=item.recipe.name,
        state=item.readiness.state,
        bars=item.bars,
        ready_by=item.ready_by,
        gates={name: gate.open for name, gate in gates.items()},
        best_before=item.best_before,
        day=item.day,
        cure_days=item.cure_days,
        start_g=_tenth(item.start_g),
        weight_g=_tenth(item.last_weight_g),
        final_g=item.forecast.final_mass().rounded(1) if item.forecast else None,
        reasons={name: gate.reason for name, gate in gates.items()},
        missing=item.readiness.missing,
        marks=tuple(problem.message for problem in item.alarms),
        places=item.facts.places,
    )


def _tenth(value: float | None) -> float | None:
    return round(value, 1) if value is not None else None


WAITING = ("in mould", "curing", "failed", "awaiting test", "awaiting release", "on hold")
_URGENCY = {
    "failed": 0,
    "on hold": 0,
    "awaiting release": 1,
    "awaiting test": 1,
    "in mould": 2,
    "curing": 2,
}


def curing(desk: Desk) -> list[BatchView]:
    """Batches that are not yet ready: held ones first, then by the expected ready date."""
    waiting = [item for item in views(desk, in_stock=True) if item.readiness.state in WAITING]

    def urgency(item: BatchView) -> tuple[int, date, str]:
        ready = item.ready_by
        return (
            _URGENCY[item.readiness.state],
            ready.expected if ready else date.max,
            item.facts.lot_code,
        )

    return sorted(waiting, key=urgency)


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadyLine:
    """One lot of the ready list: ready now, or expected by the day asked for."""

    item: BatchView
    now: bool
    kept: int = 0

    @property
    def free(self) -> int:
        """Bars that are kept for no order."""
        return max(self.item.bars - self.kept, 0)


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadyRow:
    """The record of a lot in the ready list: the batch, and whether it is ready now.

    `kept` bars are reserved for orders, `free` ones for none.
    """

    batch: BatchRow = field(metadata=SPREAD)
    now: bool
    kept: int
    free: int


def ready_row(line: ReadyLine) -> ReadyRow:
    """The record of a lot in the ready list."""
    return ReadyRow(batch=row(line.item), now=line.now, kept=line.kept, free=line.free)


def ready(desk: Desk, by: date | None = None) -> list[ReadyLine]:
    """Bars ready to ship now, and those expected by the day: earliest best-before first.

    A batch counts as expected when all gates that time opens are open by that day with the model's
    middle estimate; the tests and the release it still needs are named in its record.
    """
    lines = []
    with desk.reading() as (here, reader):
        items = views(here, in_stock=True)
        reserved = reader.reserved_by_lot()
    for item in items:
        if item.bars <= 0 or item.expired:
            continue
        kept = reserved.get(item.facts.lot_code, 0)
        state, coming = item.readiness.state, item.ready_by
        if state == "ready":
            lines.append(ReadyLine(item=item, now=True, kept=kept))
        elif by is not None and state in WAITING and coming is not None:
            if coming.expected <= by:
                lines.append(ReadyLine(item=item, now=False, kept=kept))

    def order(line: ReadyLine) -> tuple[bool, date, str]:
        return (not line.now, line.item.best_before or date.max, line.item.facts.lot_code)

    return sorted(lines, key=order)


def week_from(today: date) -> date:
    """The last day of the coming seven days."""
    return today + timedelta(days=7)


def by_variety(lines: Iterable[ReadyLine]) -> Sequence[tuple[str, int, int]]:
    """Bars by variety: name, ready now, expected by the day."""
    totals: dict[str, list[int]] = {}
    for line in lines:
        sums = totals.setdefault(line.item.recipe.name, [0, 0])
        sums[0 if line.now else 1] += line.item.bars
    return [(name, now, coming) for name, (now, coming) in sorted(totals.items())]
