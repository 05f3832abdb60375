"""The plan against brute force, a second solver, and a checker of its own."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import optimize

from soapstock.planning.demand import Demand
from soapstock.planning.layout import by_day
from soapstock.planning.plan import best_plan
from soapstock.planning.task import Mould, PlannedPour, Task, Variety
from soapstock.planning.why import what_binds, what_must_give

MONDAY = date(2026, 11, 2)


def wanted(*chances: float) -> Demand:
    """Demand by its chances."""
    return Demand(sure=0, chance_at_least=np.array(sorted(chances, reverse=True)))


def variety(code: str, asked: Demand, **more: object) -> Variety:
    """A variety with plain figures."""
    plain = Variety(
        code=code, bar_g=100.0, needs_g={"beef-tallow": 50.0}, late_days=3, demand=asked
    )
    return replace(plain, **more)  # type: ignore[arg-type]


@st.composite
def small_tasks(draw: st.DrawFn) -> Task:
    """Shops small enough to try every plan."""
    chances = st.lists(st.floats(0.05, 1.0), min_size=0, max_size=8).map(lambda x: wanted(*x))
    kinds = [
        variety(
            code,
            draw(chances),
            late_days=draw(st.integers(2, 3)),
            there=draw(st.integers(0, 2)),
            least=draw(st.sampled_from([0, 0, 2])),
            price=draw(st.sampled_from([1.0, 2.0])),
            cost=draw(st.sampled_from([0.0, 0.25])),
        )
        for code in ("AAA", "BBB")
    ]
    moulds = [
        Mould(
            name="brick",
            bars=2,
            count=draw(st.integers(1, 2)),
            days=draw(st.integers(1, 2)),
            busy=draw(st.sampled_from([(), (MONDAY + timedelta(days=1),)])),
        ),
        Mould(name="cups", bars=3, count=1, days=1),
    ]
    return Task(
        first=MONDAY,
        launch=MONDAY + timedelta(days=5),
        varieties=tuple(kinds),
        moulds=tuple(moulds),
        working_days=frozenset({0, 1, 2, 3}),
        scarce_g={"beef-tallow": draw(st.sampled_from([150.0, 300.0, 1000.0]))},
        rack_places=draw(st.sampled_from([None, 3, 6])),
        largest_pot_g=draw(st.sampled_from([None, 300.0, 500.0])),
        smallest_pot_g=draw(st.sampled_from([0.0, 300.0])),
    )


Pours = list[tuple[date, str, tuple[int, ...]]]


def broken(task: Task, pours: Pours) -> bool:
    """Whether pours break a limit; written apart from the program, from what each limit says."""
    days = [task.first + timedelta(days=n) for n in range((task.launch - task.first).days + 1)]
    return (
        any(pot_broken(task, *pour) for pour in pours)
        or len({day for day, _, _ in pours}) < len(pours)
        or sum(bars_of(task, way) * 50.0 for _, _, way in pours) > task.scarce_g["beef-tallow"]
        or any(day_broken(task, pours, day) for day in days)
        or any(
            v.there + sum(bars_of(task, way) for _, code, way in pours if code == v.code) < v.least
            for v in task.varieties
        )
    )


def bars_of(task: Task, way: tuple[int, ...]) -> int:
    """Bars of a pot."""
    return sum(n * m.bars for n, m in zip(way, task.moulds, strict=True))


def pot_broken(task: Task, day: date, code: str, way: tuple[int, ...]) -> bool:
    """Whether a pot is of a wrong size, too late, or on a day off."""
    late = next(v.late_days for v in task.varieties if v.code == code)
    batter = bars_of(task, way) * 100.0
    return (
        not task.smallest_pot_g <= batter <= (task.largest_pot_g or 1e9)
        or day + timedelta(days=late) > task.launch
        or day.weekday() not in task.working_days
    )


def day_broken(task: Task, pours: Pours, today: date) -> bool:
    """Whether a mould is used twice that day or the rack holds too many."""
    late = {v.code: v.late_days for v in task.varieties}
    lying, used = 0, [0] * len(task.moulds)
    for day, code, way in pours:
        age = (today - day).days
        for k, mould in enumerate(task.moulds):
            used[k] += way[k] * (0 <= age < mould.days)
            lying += way[k] * mould.bars * (mould.days <= age < late[code])
    twice = any(
        n > 0 and n + sum(until > today for until in mould.busy) > mould.count
        for n, mould in zip(used, task.moulds, strict=True)
    )
    return twice or (task.rack_places is not None and lying > task.rack_places)


def worth(task: Task, pours: Pours) -> float:
    """Takings less cost, from the definition."""
    total = 0.0
    for v in task.varieties:
        ways = [way for _, code, way in pours if code == v.code]
        bars = sum(n * m.bars for way in ways for n, m in zip(way, task.moulds, strict=True))
        total += v.price * float(v.demand.chance_at_least[: v.there + bars].sum()) - v.cost * bars
    return total


def brute(task: Task) -> float | None:
    """The best worth over every plan there is."""
    ways = [w for w in product(*(range(m.count + 1) for m in task.moulds)) if any(w)]
    pots = [None, *((v.code, w) for v in task.varieties for w in ways)]
    best = None
    for chosen in product(pots, repeat=len(task.days())):
        pours = [(d, *p) for d, p in zip(task.days(), chosen, strict=True) if p is not None]
        if not broken(task, pours):
            value = worth(task, pours)
            best = value if best is None else max(best, value)
    return best


def as_tried(task: Task, pours: tuple[PlannedPour, ...]) -> Pours:
    """Pours of a plan in the checker's form."""
    return [
        (p.day, p.code, tuple(dict(p.moulds).get(m.name, 0) for m in task.moulds)) for p in pours
    ]


def only_early(task: Task) -> Task:
    """The same task with three days to pour on, so that brute force ends."""
    return replace(task, working_days=frozenset({0, 1, 2}))


@settings(max_examples=40, deadline=None)
@given(small_tasks())
def test_no_plan_is_better(task: Task) -> None:
    """Every plan of a small shop tried: none is worth more, and the plan keeps every limit."""
    task = only_early(task)
    best, plan = brute(task), best_plan(task)
    assert (plan is None) == (best is None)
    if plan is not None and best is not None:
        assert not broken(task, as_tried(task, plan.pours))
        assert plan.value == pytest.approx(best, abs=1e-5)
        assert plan.value == pytest.approx(worth(task, as_tried(task, plan.pours)), abs=1e-9)
        assert plan.gap == 0.0


@settings(max_examples=60, deadline=None)
@given(small_tasks())
def test_a_second_solver_agrees(task: Task) -> None:
    """The program day by day, handed to scipy's milp."""
    program = by_day(task).program
    matrix = np.zeros((len(program.rows), len(program.gain)))
    for k, (_, _, parts) in enumerate(program.rows):
        for column, value in parts.items():
            matrix[k, column] = value
    plan = best_plan(task)
    if not program.gain:
        assert plan is None or plan.pours == ()
        return
    rows = [
        optimize.LinearConstraint(
            matrix, [low for low, _, _ in program.rows], [high for _, high, _ in program.rows]
        )
    ]
    found = optimize.milp(
        -np.array(program.gain),
        constraints=rows if program.rows else [],
        integrality=np.array(program.whole, dtype=int),
        bounds=optimize.Bounds(program.lower, program.upper),
        options={"mip_rel_gap": 0.0},
    )
    assert (plan is None) == (found.status == 2)
    if plan is not None:
        there = sum(v.demand.expected_sales(v.there) * v.price for v in task.varieties)
        assert plan.value == pytest.approx(there - found.fun, abs=1e-5)


def test_knapsack_from_a_textbook() -> None:
    """Weights 5, 4, 6, 3, values 10, 40, 30, 50, limit 10: 90, by items 2 and 4.

    The worked 0/1 knapsack of algorithm courses (from memory). Each item is one pot of a variety
    whose mould is its own, its weight the fat in it.
    """
    items = [("AAA", 5.0, 10.0), ("BBB", 4.0, 40.0), ("CCC", 6.0, 30.0), ("DDD", 3.0, 50.0)]
    task = Task(
        first=MONDAY,
        launch=MONDAY + timedelta(days=6),
        varieties=tuple(
            variety(c, wanted(1.0), needs_g={"fat": w}, price=v, moulds=(c,)) for c, w, v in items
        ),
        moulds=tuple(Mould(name=c, bars=1, count=1, days=7) for c, _, _ in items),
        scarce_g={"fat": 10.0},
    )
    plan = best_plan(task)
    assert plan is not None
    assert plan.value == pytest.approx(90.0)
    assert {p.code for p in plan.pours} == {"BBB", "DDD"}


def plain_task(**more: object) -> Task:
    """Two varieties, one brick, all the fat one wants."""
    asked = wanted(*np.linspace(0.95, 0.1, 20))
    plain = Task(
        first=MONDAY,
        launch=MONDAY + timedelta(days=8),
        varieties=(variety("AAA", asked, late_days=5), variety("BBB", asked, late_days=5)),
        moulds=(Mould(name="brick", bars=4, count=1),),
        scarce_g={"beef-tallow": 2000.0},
    )
    return replace(plain, **more)  # type: ignore[arg-type]


def test_of_equal_plans_the_even_one() -> None:
    """Four pours of two equal bars: two of each; and twice the same plan."""
    plan = best_plan(plain_task())
    assert plan is not None
    assert plan.bars == {"AAA": 8, "BBB": 8}
    assert plan == best_plan(plain_task())


def test_another_mould_brings_what_a_new_plan_sells() -> None:
    """The gain of one more brick is that of the plan made with it; unlimited fat brings none."""
    task = plain_task()
    plan = best_plan(task)
    assert plan is not None
    found = {(x.limit.kind, x.limit.item): x for x in what_binds(task, plan)}
    more = best_plan(replace(task, moulds=(replace(task.moulds[0], count=2),)))
    assert more is not None
    assert found["mould", "brick"].sold == pytest.approx(more.sold - plan.sold)
    assert ("scarce", "beef-tallow") not in found


def test_what_must_give_is_the_least() -> None:
    """16 bars of AAA and 8 of BBB from 800 g: 400 g more, or 8 bars promised less."""
    task = plain_task()
    first, second = (replace(v, least=n) for v, n in zip(task.varieties, (8, 8), strict=True))
    task = replace(task, varieties=(first, second), scarce_g={"beef-tallow": 400.0})
    assert best_plan(task) is None
    found = {give.kind: give for give in what_must_give(task)}
    assert found["scarce"].amount == 400.0
    assert found["promise"].amount == 8
    assert "mould" not in found
    assert what_must_give(plain_task()) == []


def test_last_safe_day_counts_back_from_the_launch() -> None:
    """A Sunday that nobody works on gives way to the Saturday before."""
    task = plain_task(working_days=frozenset({0, 5}), launch=date(2026, 11, 13))
    assert task.last_safe(task.varieties[0]) == date(2026, 11, 7)
