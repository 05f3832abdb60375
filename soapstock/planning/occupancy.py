"""How full moulds and racks are on each day of a plan."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from soapstock.planning.task import PlannedPour, Task


@dataclass(frozen=True, slots=True, kw_only=True)
class DayUse:
    """Moulds in use and bars on the racks on a day; those of earlier pours count."""

    day: date
    moulds: int
    rack_bars: int


def occupancy(task: Task, pours: Sequence[PlannedPour]) -> list[DayUse]:
    """Each day from the first to the launch.

    A mould is in use from its pour until it is free again; bars lie on the rack from then until
    they can be sold, by the late bound.
    """
    days = {m.name: m.days for m in task.moulds}
    bars = {m.name: m.bars for m in task.moulds}
    late = {v.code: v.late_days for v in task.varieties}
    found = []
    for n in range((task.launch - task.first).days + 1):
        day = task.first + timedelta(days=n)
        moulds = sum(min(m.count, sum(until > day for until in m.busy)) for m in task.moulds)
        rack = task.rack_used[min(n, len(task.rack_used) - 1)] if task.rack_used else 0
        for pour in pours:
            age = (day - pour.day).days
            moulds += sum(count for name, count in pour.moulds if 0 <= age < days[name])
            if age < late[pour.code]:
                rack += sum(c * bars[name] for name, c in pour.moulds if age >= days[name])
        found.append(DayUse(day=day, moulds=moulds, rack_bars=rack))
    return found
