"""Why a plan is no larger: each limit with one more of it, the plan made again; and what must give.

Nothing is read off a dual price: in whole moulds the next one more is worth what it really brings.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Literal

from soapstock.planning.layout import in_sum
from soapstock.planning.plan import best_plan
from soapstock.planning.program import SECONDS
from soapstock.planning.task import PourPlan, Task

Kind = Literal["mould", "rack", "scarce", "day", "pot", "promise"]
_WORTH_TELLING = 0.05  # in the task's money; less is lost in the widths of the demand
_STEP_G = 100.0
_MOST_STEPS: Mapping[str, int] = {"mould": 8, "rack": 500, "scarce": 500, "day": 1, "pot": 100}


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit:
    """One limit of the shop and a step of it.

    Attributes:
        item: the mould or ingredient, or the day of the week as a figure (Monday 0).
        step: moulds, places, grams, or 1 for a day.
        raised: the task with so many steps more.
    """

    kind: Kind
    item: str
    step: float
    raised: Callable[[int], Task]


@dataclass(frozen=True, slots=True, kw_only=True)
class OneMore:
    """What one step more of a limit brings: bars sold and money, as expected."""

    limit: Limit
    sold: float
    value: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Give:
    """The least that must give, alone, for a plan to fit.

    Attributes:
        amount: moulds, places, grams, a day, or bars promised less.
        fewer: bars promised less, by variety, when it is promises that give.
    """

    kind: Kind
    item: str
    amount: float
    fewer: Mapping[str, int]


def limits(task: Task) -> list[Limit]:
    """The limits of a task."""
    found = [_mould(task, n) for n in range(len(task.moulds))]
    if task.rack_places is not None:
        found.append(_rack(task, max(m.bars for m in task.moulds)))
    found += [_scarce(task, key, 1000.0) for key in task.scarce_g]
    found += [_day(task, day) for day in range(7) if day not in task.working_days]
    if task.largest_pot_g is not None:
        found.append(_pot(task))
    return found


def _mould(task: Task, n: int) -> Limit:
    def raised(steps: int) -> Task:
        more = replace(task.moulds[n], count=task.moulds[n].count + steps)
        return replace(task, moulds=(*task.moulds[:n], more, *task.moulds[n + 1 :]))

    return Limit(kind="mould", item=task.moulds[n].name, step=1, raised=raised)


def _rack(task: Task, step: int) -> Limit:
    places = task.rack_places or 0
    return Limit(
        kind="rack",
        item="",
        step=step,
        raised=lambda steps: replace(task, rack_places=places + steps * step),
    )


def _scarce(task: Task, key: str, step_g: float) -> Limit:
    return Limit(
        kind="scarce",
        item=key,
        step=step_g,
        raised=lambda steps: replace(
            task, scarce_g={**task.scarce_g, key: task.scarce_g[key] + steps * step_g}
        ),
    )


def _day(task: Task, day: int) -> Limit:
    return Limit(
        kind="day",
        item=str(day),
        step=1,
        raised=lambda steps: replace(task, working_days=task.working_days | {day}),
    )


def _pot(task: Task) -> Limit:
    # A pot that takes one more of the smallest mould, of the lightest bar.
    step_g = min(m.bars for m in task.moulds) * min(v.bar_g for v in task.varieties)
    largest = task.largest_pot_g or 0.0
    return Limit(
        kind="pot",
        item="",
        step=step_g,
        raised=lambda steps: replace(task, largest_pot_g=largest + steps * step_g),
    )


def what_binds(task: Task, plan: PourPlan) -> list[OneMore]:
    """Each limit of which one step more brings something, the best first."""
    found = []
    for limit in limits(task):
        more = limit.raised(1)
        bound = in_sum(more).program.solve()
        there = sum(v.price * v.demand.expected_sales(v.there) for v in task.varieties)
        if bound is None or bound.objective + there < plan.value + _WORTH_TELLING:
            continue  # no plan at all can be better, so no calendar need be sought
        better = best_plan(more)
        if better is not None and better.value > plan.value + _WORTH_TELLING:
            found.append(
                OneMore(
                    limit=limit,
                    sold=better.sold - plan.sold,
                    value=better.value - plan.value,
                )
            )
    return sorted(found, key=lambda x: (-x.value, x.limit.kind, x.limit.item))


def eased(task: Task, fewer: Mapping[str, int]) -> Task:
    """The task with fewer bars promised, by variety."""
    cut = (replace(v, least=v.least - fewer.get(v.code, 0)) for v in task.varieties)
    return replace(task, varieties=tuple(cut))


def what_must_give(task: Task) -> list[Give]:
    """For a task that no plan fits: of each limit alone the least more that lets one fit.

    Last come the promises, which can always give; none are named when a plan fits.
    """
    if best_plan(task) is not None:
        return []
    found = []
    for limit in limits(task):
        fine = limit
        if limit.kind == "scarce":
            fine = _scarce(task, limit.item, _STEP_G)
        elif limit.kind == "rack":
            fine = _rack(task, 1)
        steps = _least_steps(fine)
        if steps is not None:
            found.append(Give(kind=fine.kind, item=fine.item, amount=steps * fine.step, fewer={}))
    fewer = fewest_broken(task)
    if fewer:
        found.append(Give(kind="promise", item="", amount=sum(fewer.values()), fewer=fewer))
    return found


def _least_steps(limit: Limit) -> int | None:
    """The fewest steps with which a plan fits, or None when no number does."""
    low, high = 0, _MOST_STEPS[limit.kind]
    if best_plan(limit.raised(high)) is None:
        return None
    while high - low > 1:
        middle = (low + high) // 2
        if best_plan(limit.raised(middle)) is None:
            low = middle
        else:
            high = middle
    return high


def fewest_broken(task: Task, *, seconds: float = SECONDS) -> dict[str, int]:
    """The fewest bars, by variety, that promises must be cut by; empty when that is no way out."""
    free = replace(task, varieties=tuple(replace(v, least=0) for v in task.varieties))
    laid = in_sum(free)
    program = laid.program
    program.gain = [0.0] * len(program.gain)
    short = {}
    for v in task.varieties:
        if v.least > v.there:
            missing = v.least - v.there
            short[v.code] = program.column(missing, -1.0, whole=True)
            program.row({**laid.bars(v.code), short[v.code]: 1.0}, low=missing)
    found = program.solve(seconds=seconds)
    if found is None:
        return {}
    fewer = {code: round(found.values[k]) for code, k in short.items()}
    fewer = {code: bars for code, bars in fewer.items() if bars}
    return fewer if best_plan(eased(task, fewer), seconds=seconds) is not None else {}
