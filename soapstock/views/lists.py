"""Lists of batches: what cures, what is ready, and the rows they hand over."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from soapstock.desk.desk import Desk
from soapstock.views.batch import BatchView, views


def record(item: BatchView) -> dict[str, Any]:
    """The stable JSON record of a batch in the curing and ready lists."""
    ready = item.ready_by
    final = item.forecast.final_mass() if item.forecast else None
    return {
        "lot": item.facts.lot_code.shown,
        "recipe": item.recipe.name,
        "state": item.readiness.state,
        "bars": item.bars,
        "ready_by": (
            {"early": ready.early, "expected": ready.expected, "late": ready.late}
            if ready
            else None
        ),
        "gates": {name: gate.open for name, gate in item.readiness.gates.items()},
        "best_before": item.best_before,
        "day": item.day,
        "cure_days": item.cure_days,
        "start_g": _tenth(item.start_g),
        "weight_g": _tenth(item.last_weight_g),
        "final_g": _span(final),
        "reasons": {name: gate.reason for name, gate in item.readiness.gates.items()},
        "missing": list(item.readiness.missing),
        "marks": [problem.message for problem in item.alarms],
        "places": dict(item.facts.places),
    }


def _tenth(value: float | None) -> float | None:
    return round(value, 1) if value is not None else None


def _span(interval: Any) -> dict[str, float] | None:
    if interval is None:
        return None
    return {
        "low": round(interval.low, 1),
        "nominal": round(interval.nominal, 1),
        "high": round(interval.high, 1),
    }


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


def ready(desk: Desk, by: date | None = None) -> list[ReadyLine]:
    """Bars ready to ship now, and those expected by the day: earliest best-before first.

    A batch counts as expected when all gates that time opens are open by that day with the model's
    middle estimate; the tests and the release it still needs are named in its record.
    """
    lines = []
    for item in views(desk, in_stock=True):
        if item.bars <= 0 or item.expired:
            continue
        state, coming = item.readiness.state, item.ready_by
        if state == "ready":
            lines.append(ReadyLine(item=item, now=True))
        elif by is not None and state in WAITING and coming is not None:
            if coming.expected <= by:
                lines.append(ReadyLine(item=item, now=False))

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
