"""The best plan: which pots on which days, exactly, as an integer program.

What a plan is worth is the expected takings by the launch (a bar brings its price with the chance
that so many are asked for, so each further bar brings less) less what the bars poured cost. Of
plans worth the same the most even one is taken (the variety that is worst off for its weight has
the most bars), and of its calendars an early one.

First the pots are chosen in sum, which bounds every plan; then days are sought for the same bars.
Where there are none, the program is solved day by day, and what the bound lies above the plan found
is its gap.
"""

from __future__ import annotations

from collections.abc import Mapping

from soapstock.errors import RuleBroken
from soapstock.planning.layout import Laid, bars_in, by_day, in_sum
from soapstock.planning.program import SECONDS, Solution
from soapstock.planning.task import PlannedPour, PourPlan, Task

_SLACK = 1e-6  # money by which a tie-break may fall short of the best value
_MOST_BARS = 1e5  # more than any shop has of one variety
_EARLY_GAP = 0.02  # an early calendar need not be proved the earliest
_EARLY_NODES = 300
_EVEN_NODES = 100  # few plans are worth the same to the millionth: a tie is not sought for long


def best_plan(task: Task, *, seconds: float = SECONDS) -> PourPlan | None:
    """The best plan, or None when the limits leave no way to what must be there.

    Args:
        seconds: the longest that one of its four or five programs is worked at.

    Raises:
        RuleBroken: no plan was found in the time.
    """
    summed = in_sum(task)
    bound = summed.program.solve(seconds=seconds)
    if bound is None:
        return None
    loose = _bars_of(summed, bound)
    even = _bars_of(summed, _evened(summed, bound, seconds))
    for bars in (even, loose):
        found = _calendar(task, bars, seconds)
        if found is not None:
            return _told(*found, gap=bound.bound - bound.objective)
        if even == loose:
            break
    return _day_by_day(task, bound, seconds)


def _day_by_day(task: Task, bound: Solution, seconds: float) -> PourPlan | None:
    laid = by_day(task)
    found = laid.program.solve(seconds=seconds)
    if found is None:
        return None
    gap = min(found.bound, bound.bound) - found.objective
    early = _calendar(task, _bars_of(laid, found), seconds)
    return _told(*(early or (laid, found)), gap=gap)


def _bars_of(laid: Laid, found: Solution) -> dict[str, int]:
    """Bars poured, by variety."""
    return {
        v.code: round(sum(n * found.values[k] for k, n in laid.bars(v.code).items()))
        for v in laid.task.varieties
    }


def _evened(laid: Laid, best: Solution, seconds: float) -> Solution:
    """Of plans worth as much, the one whose worst-off variety has the most bars for its weight."""
    program = laid.program
    program.row({k: g for k, g in enumerate(program.gain) if g}, low=best.objective - _SLACK)
    program.gain = [0.0] * len(program.gain)
    worst = program.column(_MOST_BARS, 1.0)
    stand, now = _bars_of(laid, best), _MOST_BARS
    for v in laid.task.varieties:
        if v.weight > 0:
            now = min(now, (v.there + stand[v.code]) / v.weight)
            parts = {k: -bars / v.weight for k, bars in laid.bars(v.code).items()}
            program.row({worst: 1.0, **parts}, high=v.there / v.weight)
    try:
        start = (*best.values, now)
        return program.solve(nodes=_EVEN_NODES, seconds=seconds, start=start) or best
    except RuleBroken:  # a tie is then left as it fell
        return best


def _calendar(task: Task, bars: Mapping[str, int], seconds: float) -> tuple[Laid, Solution] | None:
    """Days for so many bars of each, few pots and early ones; None when no calendar holds them."""
    laid = by_day(task)
    program = laid.program
    for v in task.varieties:
        parts = laid.bars(v.code)
        if parts:
            program.row(parts, low=bars[v.code], high=bars[v.code])
        elif bars[v.code]:
            return None
    program.gain = [0.0] * len(program.gain)
    order = {v.code: n for n, v in enumerate(task.varieties)}
    for (day, code, _), column in laid.pots.items():
        late = (day - task.first).days if day else 0
        program.gain[column] = -(1.0 + 0.02 * late + 1e-4 * order[code] * late)
    try:
        found = program.solve(gap=_EARLY_GAP, nodes=_EARLY_NODES, seconds=seconds)
    except RuleBroken:
        return None
    return None if found is None else (laid, found)


def _told(laid: Laid, found: Solution, *, gap: float) -> PourPlan:
    task = laid.task
    of = {v.code: v for v in task.varieties}
    pours = []
    for (day, code, way), column in laid.pots.items():
        if day is not None and found.values[column] > 0.5:  # noqa: PLR2004  # a 0 or a 1
            bars = bars_in(task, way)
            used = tuple((m.name, n) for m, n in zip(task.moulds, way, strict=True) if n)
            pours.append(
                PlannedPour(
                    day=day, code=code, moulds=used, bars=bars, batter_g=bars * of[code].bar_g
                )
            )
    bars_of = {v.code: v.there for v in task.varieties}
    for pour in pours:
        bars_of[pour.code] += pour.bars
    sold = {v.code: v.demand.expected_sales(bars_of[v.code]) for v in task.varieties}
    poured = sum(v.cost * (bars_of[v.code] - v.there) for v in task.varieties)
    return PourPlan(
        pours=tuple(sorted(pours, key=lambda p: (p.day, p.code))),
        bars=bars_of,
        value=sum(v.price * sold[v.code] for v in task.varieties) - poured,
        sold=sum(sold.values()),
        gap=max(0.0, gap) if gap > _SLACK else 0.0,
    )
