"""Moulds and racks day by day, against what the program itself allows."""

from __future__ import annotations

from datetime import date, timedelta

from hypothesis import given, settings

from soapstock.planning.occupancy import occupancy
from soapstock.planning.plan import best_plan
from soapstock.planning.task import Mould, PlannedPour, Task
from tests.planning.test_plan import small_tasks, variety, wanted

DAY = date(2026, 11, 2)


def test_a_pour_is_in_its_mould_then_on_the_rack_then_sold() -> None:
    """Counted by hand: poured on the 3rd, out on the 5th, sold from the 9th on."""
    task = Task(
        first=DAY,
        launch=DAY + timedelta(days=9),
        varieties=(variety("AAA", wanted(1.0), late_days=6),),
        moulds=(Mould(name="brick", bars=4, count=3, days=2, busy=(DAY + timedelta(days=1),)),),
        rack_used=(5, 5, 0),
    )
    pour = PlannedPour(
        day=date(2026, 11, 3), code="AAA", moulds=(("brick", 2),), bars=8, batter_g=800.0
    )
    use = occupancy(task, [pour])
    assert [day.moulds for day in use] == [1, 2, 2, 0, 0, 0, 0, 0, 0, 0]
    assert [day.rack_bars for day in use] == [5, 5, 0, 8, 8, 8, 8, 0, 0, 0]


@settings(deadline=None, max_examples=25)
@given(task=small_tasks())
def test_no_plan_fills_more_than_there_is(task: Task) -> None:
    """Every day of every best plan."""
    best = best_plan(task)
    for use in occupancy(task, best.pours if best else ()):
        assert use.moulds <= sum(m.count for m in task.moulds)
        assert task.rack_places is None or use.rack_bars <= task.rack_places
