"""A task laid out as an integer program, in one of two ways.

By day: a column for each pot (a variety, and how many moulds of each kind it fills) on each day.
In sum: a column for each pot, counted over the whole time; what each day allows is asked only in
sums, so that no plan is lost and some are let in that no calendar holds. The second is small and
gives an upper bound; a calendar with the same bars proves it reached.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from datetime import date, timedelta
from itertools import product

from soapstock.errors import BadInput
from soapstock.planning.program import INF, Program
from soapstock.planning.task import Mould, Task, Variety

_MOST_FILLINGS = 400
Filling = tuple[int, ...]  # moulds filled of each kind of the task, in the task's order


@dataclass(slots=True)
class Laid:
    """A task as a program. `pots[day, code, filling]` is its column; day is None when in sum."""

    task: Task
    program: Program = field(default_factory=Program)
    pots: dict[tuple[date | None, str, Filling], int] = field(default_factory=dict)

    def bars(self, code: str) -> dict[int, float]:
        """Bars poured of a variety, as parts of a row."""
        return {
            column: float(bars_in(self.task, filling))
            for (_, one, filling), column in self.pots.items()
            if one == code
        }


def bars_in(task: Task, filling: Filling) -> int:
    """Bars of a pot."""
    return sum(mould.bars * n for mould, n in zip(task.moulds, filling, strict=True))


def fillings(task: Task, variety: Variety) -> list[Filling]:
    """Every way to fill moulds from one pot of a size the shop can make."""
    most_g = task.largest_pot_g if task.largest_pot_g is not None else INF
    usable = [m.count if not variety.moulds or m.name in variety.moulds else 0 for m in task.moulds]
    ways: list[Filling] = [
        way
        for way in product(*(range(n + 1) for n in usable))
        if any(way) and task.smallest_pot_g <= bars_in(task, way) * variety.bar_g <= most_g
    ]
    if len(ways) > _MOST_FILLINGS:
        raise BadInput(
            f"{len(ways)} ways to fill the moulds from one pot of {variety.code}",
            hint="give moulds of the same size one name and a count",
        )
    return ways


def in_sum(task: Task) -> Laid:
    """The task in sums over its time."""
    laid = Laid(task=task)
    for v in task.varieties:
        days = days_until(task, task.last_safe(v))
        for way in fillings(task, v) if days else []:
            laid.pots[None, v.code, way] = laid.program.column(
                days * task.pots_a_day, -v.cost * bars_in(task, way), whole=True
            )
    _value_rows(laid)
    _sum_rows(laid)
    _sum_rack_rows(laid)
    return laid


def by_day(task: Task) -> Laid:
    """The task day by day."""
    laid = Laid(task=task)
    for v in task.varieties:
        last = task.last_safe(v)
        ways = fillings(task, v)
        for day in task.days() if last else []:
            for way in ways if last and day <= last else []:
                free = zip(task.moulds, way, strict=True)
                if all(n <= mould.free_on(day) for mould, n in free):
                    laid.pots[day, v.code, way] = laid.program.column(
                        1.0, -v.cost * bars_in(task, way), whole=True
                    )
    _value_rows(laid)
    _day_rows(laid)
    _day_rack_rows(laid)
    return laid


def days_until(task: Task, last: date | None) -> int:
    """Working days up to and with that day."""
    return 0 if last is None else sum(day <= last for day in task.days())


def _value_rows(laid: Laid) -> None:
    """Each further bar brings its price with the falling chance that it is asked for."""
    task = laid.task
    for v in task.varieties:
        poured = laid.bars(v.code)
        chances = v.demand.chance_at_least[v.there :]
        sold = {laid.program.column(1.0, v.price * float(c)): -1.0 for c in chances}
        if sold:
            laid.program.row(poured | sold, low=0.0)
        if v.least > v.there:
            laid.program.row(poured, low=v.least - v.there)
    for key, at_hand_g in task.scarce_g.items():
        parts: dict[int, float] = {}
        for v in task.varieties:
            if v.needs_g.get(key, 0.0) > 0:
                parts |= {k: bars * v.needs_g[key] for k, bars in laid.bars(v.code).items()}
        if parts:
            laid.program.row(parts, high=at_hand_g)


def _sum_rows(laid: Laid) -> None:
    """Pots and moulds that must be done by a day fit into the days and moulds up to it."""
    task = laid.task
    last_of = {v.code: task.last_safe(v) for v in task.varieties}
    for last in sorted({day for day in last_of.values() if day is not None}):
        due = {
            key: column
            for key, column in laid.pots.items()
            if (mine := last_of[key[1]]) is not None and mine <= last
        }
        days = days_until(task, last)
        laid.program.row(dict.fromkeys(due.values(), 1.0), high=days * task.pots_a_day)
        for n, mould in enumerate(task.moulds):
            parts = {column: float(way[n]) for (_, _, way), column in due.items() if way[n]}
            if parts:
                laid.program.row(parts, high=_turns(task, mould, last))
    for v in task.varieties:  # one pour of a variety a day
        of_kind = [column for (_, code, _), column in laid.pots.items() if code == v.code]
        if of_kind:
            laid.program.row(dict.fromkeys(of_kind, 1.0), high=days_until(task, last_of[v.code]))


def _turns(task: Task, mould: Mould, last: date) -> int:
    """How often moulds of a kind can be filled up to a day, each as soon as it is free."""
    turns = 0
    for n in range(mould.count):
        free = sorted(mould.busy)[n] if n < len(mould.busy) else task.first
        for day in task.days():
            if free <= day <= last:
                turns += 1
                free = day + timedelta(days=mould.days)
    return turns


def _sum_rack_rows(laid: Laid) -> None:
    """Bars that lie on the rack on a day whichever day they were poured on, and all their days."""
    task = laid.task
    if task.rack_places is None:
        return
    days = [task.first + timedelta(days=n) for n in range((task.launch - task.first).days + 1)]
    work = task.days()
    seen: set[tuple[tuple[int, ...], float]] = set()
    for day in days:
        parts = {}
        for (_, code, way), column in laid.pots.items():
            v = next(x for x in task.varieties if x.code == code)
            last = task.last_safe(v)
            late_in = max(task.moulds[n].days for n, count in enumerate(way) if count)
            if last and last + timedelta(days=late_in) <= day < work[0] + timedelta(v.late_days):
                parts[column] = float(bars_in(task, way))
        _once(laid, seen, parts, float(task.rack_room_on(day)))
    whole = {}
    for (_, code, way), column in laid.pots.items():
        v = next(x for x in task.varieties if x.code == code)
        filled = zip(task.moulds, way, strict=True)
        whole[column] = float(sum(m.bars * n * max(0, v.late_days - m.days) for m, n in filled))
    _once(laid, seen, whole, float(sum(task.rack_room_on(day) for day in days)))


def _once(
    laid: Laid, seen: set[tuple[tuple[int, ...], float]], parts: dict[int, float], high: float
) -> None:
    if parts and (tuple(parts), high) not in seen:
        seen.add((tuple(parts), high))
        laid.program.row(parts, high=high)


def _day_rows(laid: Laid) -> None:
    task = laid.task
    on_day: dict[date | None, dict[int, float]] = defaultdict(dict)
    of_kind: dict[tuple[date | None, str], dict[int, float]] = defaultdict(dict)
    for (day, code, _), column in laid.pots.items():
        on_day[day][column] = of_kind[day, code][column] = 1.0
    for parts in on_day.values():
        laid.program.row(parts, high=task.pots_a_day)
    if task.pots_a_day > 1:
        for parts in of_kind.values():
            laid.program.row(parts, high=1.0)
    for n, mould in enumerate(task.moulds):
        for day in task.days():
            since = day - timedelta(days=mould.days)
            parts = {
                column: float(way[n])
                for (poured, _, way), column in laid.pots.items()
                if way[n] and poured is not None and since < poured <= day
            }
            if parts:
                laid.program.row(parts, high=mould.free_on(day))


def _day_rack_rows(laid: Laid) -> None:
    """Bars lie on the rack from unmoulding to the day they can be sold."""
    task = laid.task
    if task.rack_places is None:
        return
    late = {v.code: v.late_days for v in task.varieties}
    seen: set[tuple[tuple[int, ...], float]] = set()
    for n in range((task.launch - task.first).days + 1):
        day = task.first + timedelta(days=n)
        parts = {}
        for (poured, code, way), column in laid.pots.items():
            if poured is not None and 0 <= (age := (day - poured).days) < late[code]:
                out = zip(task.moulds, way, strict=True)
                if bars := sum(m.bars * count for m, count in out if m.days <= age):
                    parts[column] = float(bars)
        _once(laid, seen, parts, float(task.rack_room_on(day)))
