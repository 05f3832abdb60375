"""The waiting list becomes orders: all or none, short shares as the maker says."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

import pytest

from soapstock.desk.desk import Desk
from soapstock.enter.launch import launch
from soapstock.enter.orders import want
from soapstock.errors import NotFound, RuleBroken
from soapstock.views.orders import listed, promise, waiting
from tests.desks import desk

__all__ = ["desk"]


@pytest.fixture
def queue(desk: Desk) -> Desk:
    """14 Driftwood are ready and 6 ordered, so 8 are free for 10; 10 Eelgrass for 2."""
    for who, what in (("Ann", "DRF=2"), ("Bea", "DRF=7"), ("Cy", "DRF=1"), ("Ann", "EEL=2")):
        want(desk, who, what, contact=f"{who}@x.example")
    return desk


def entries(desk: Desk) -> int:
    """How many entries the ledger has."""
    with desk.ledger.read() as reader:
        return len(reader.entries())


def test_enough_for_all_needs_no_choice(queue: Desk) -> None:
    """One order a person, with what they asked for; nobody of them waits any more."""
    rows = launch(queue, ["eel"], None, None)
    assert [(r.customer, r.gets, r.still_waits) for r in rows] == [("Ann", 2, 0)]
    order = next(o for o in listed(queue, everything=False) if o.order == rows[0].order)
    assert (order.customer, dict(order.lines), order.contact) == (
        "Ann",
        {"EEL": 2},
        "Ann@x.example",
    )
    assert "EEL" not in {row.recipe for row in waiting(queue)}


@pytest.mark.parametrize(("way", "got"), [("fair", [2, 5, 1, 2]), ("first", [2, 6, 0, 2])])
def test_who_goes_short_is_the_makers_word(queue: Desk, way: Any, got: list[int]) -> None:
    """What is not given stays waited for, in its turn; no more is given than is free."""
    rows = launch(queue, [], way, None)
    assert [row.gets for row in rows] == got
    left = [(r.customer, r.bars) for r in waiting(queue)]
    assert left == [(r.customer, r.still_waits) for r in rows if r.still_waits]
    assert next(r for r in promise(queue) if r.recipe == "DRF").short == 0
    ann = [o for o in listed(queue, everything=False) if o.customer == "Ann"]
    assert [dict(o.lines) for o in ann] == [{"DRF": 2, "EEL": 2}]
    assert len({row.order for row in rows} - {""}) == 2 + (way == "fair")


def test_short_without_a_word_enters_nothing(queue: Desk) -> None:
    """Also of the soap of which there is enough."""
    before = entries(queue)
    with pytest.raises(RuleBroken, match="10 bars of DRF are waited for and 8 are free"):
        launch(queue, [], None, None)
    with pytest.raises(NotFound):
        launch(queue, ["QQQ"], "fair", None)
    with pytest.raises(RuleBroken, match="nobody waits"):
        launch(queue, ["WRK"], "fair", None)
    want(queue, "Dee", "MUD=3")
    with pytest.raises(RuleBroken, match="no bar of MUD"):
        launch(queue, ["MUD"], "fair", None)
    assert entries(queue) == before + 1


def test_a_day_to_come_shares_what_is_free_by_then(queue: Desk) -> None:
    """As the promises say; the orders are wanted that day, and break none."""
    day = date(2027, 1, 29)
    rows = launch(queue, ["DRF"], None, day)
    assert [row.gets for row in rows] == [2, 7, 1]
    made = [o for o in listed(queue, everything=False) if o.order.startswith("L261120-")]
    assert {o.wanted_by for o in made} == {day}
    assert not any(row.short for row in promise(queue))


def test_a_second_launch_of_a_day_goes_on_counting(queue: Desk) -> None:
    """No order takes the reference of another."""
    launch(queue, ["EEL"], None, None)
    rows = launch(queue, ["DRF"], "first", None)
    assert [row.order for row in rows] == ["L261120-2", "L261120-3", ""]


def test_the_command_writes_the_list_of_messages(demo_shop: Path, run: Any, tmp_path: Path) -> None:
    """At 80 columns; a trial enters nothing; the list says whose eyes it is for."""
    shop = ("--shop", demo_shop, "--today", "2026-11-20", "--by", "tester")
    run(*shop, "want", "add", "=Ann", "DRF=20", "--contact", "a@x.example")
    out = tmp_path / "tell.csv"
    short = run(*shop, "want", "order")
    assert (short.code, "--shares fair" in short.err) == (4, True)
    tried = run(*shop, "want", "order", "--shares", "fair", "--try")
    assert "Would make 1 order of 8 bars." in tried.out
    told = run(*shop, "want", "order", "--shares", "fair", "--messages", out)
    assert told.code == 0
    assert "Made 1 order of 8 bars." in told.out
    assert "names customers" in told.out
    assert max(map(len, told.out.splitlines())) <= 80
    head, line = out.read_text().splitlines()
    assert head == "customer,contact,recipe,soap,asked,gets,still_waits,order"
    assert line == "'=Ann,a@x.example,DRF,Driftwood,20,8,12,L261120-1"
