"""The plan of the demo shop: what is counted, what is asked for, what must give."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from soapstock.desk.desk import Desk
from soapstock.enter.money import set_price
from soapstock.errors import BadInput, NotFound, RuleBroken
from soapstock.shop import Workshop
from soapstock.views import orders
from soapstock.views.plan import Planned, Wish, next_pour, plan, pour_next, record
from tests.desks import empty
from tests.desks import moneyless as desk

__all__ = ["desk", "empty"]

LAUNCH = date(2027, 2, 20)


def wish(**more: object) -> Wish:
    """A launch in three months, with sales enough to pour for."""
    plain = Wish(launch=LAUNCH, first=date(2026, 11, 20), expected=900)
    return replace(plain, **more)  # type: ignore[arg-type]


@pytest.fixture
def seen(desk: Desk) -> Planned:
    """The plan for it."""
    return plan(desk, wish())


def test_without_prices_no_fat_earns(seen: Planned) -> None:
    """What a kg earns is told in money, or not at all."""
    assert seen.a_kg_earns == {}


def test_pours_keep_the_shops_days_pots_and_fat(desk: Desk, seen: Planned) -> None:
    """Each pour read against shop.toml and the store, apart from the program."""
    assert seen.plan is not None
    assert seen.plan.pours
    used = 0.0
    late = {s.code: s.coming.late_days for s in seen.standings}
    for pour in seen.plan.pours:
        assert pour.day.weekday() in {2, 5}
        assert 1000 <= pour.batter_g <= 4000
        assert pour.day + timedelta(days=late[pour.code]) <= LAUNCH
        needs = next(s.coming.needs_g for s in seen.standings if s.code == pour.code)
        used += pour.bars * needs.get("beef-tallow", 0.0)
    with desk.ledger.read() as reader:
        there = sum(lot.left_mg for lot in reader.ingredient_lots("beef-tallow")) / 1000
    assert used <= there + 1e-6
    assert seen.left_g["beef-tallow"] == pytest.approx(there - used)


def test_only_bars_that_can_be_sold_are_counted(desk: Desk, seen: Planned) -> None:
    """Nothing more is there by the launch than is promised by then, orders taken off."""
    for s in seen.standings:
        rows = [r for r in orders.promise(desk) if r.recipe == s.code and r.from_ <= LAUNCH]
        supply = max((r.supply for r in rows), default=0)
        assert s.late - supply in (0, 18, 19, 20)  # those in the mould are not promised yet
        assert s.late <= s.ready + s.curing + s.in_mould


def test_the_same_shop_gives_the_same_plan(desk: Desk, seen: Planned) -> None:
    """Two plans of one shop are one plan, and it says that it cannot be bettered."""
    assert record(plan(desk, wish())) == record(seen)
    assert seen.plan is not None
    assert seen.plan.gap == 0.0


def test_the_next_pour_is_the_first_of_the_calendar(seen: Planned) -> None:
    """One line, with the reason."""
    assert seen.plan is not None
    first = seen.plan.pours[0]
    line = next_pour(seen)
    assert line.startswith(f"Pour {first.bars} ")
    assert "asked for" in line


def test_the_day_says_what_to_pour_next_or_why_not(desk: Desk) -> None:
    """The plan's own answer for ten weeks; an order out of reach, and no moulds, are said."""
    from soapstock.enter import orders as enter

    assert pour_next(desk) == next_pour(
        plan(desk, Wish(launch=date(2027, 1, 29), first=date(2026, 11, 20)))
    )
    enter.add(desk, "T-1", "A", ["EEL=60"], wanted_on=date(2027, 1, 20))
    assert " Eelgrass next, on " in pour_next(desk)
    assert "orders want" in pour_next(desk)
    enter.add(desk, "T-2", "A", ["EEL=900"], wanted_on=date(2027, 1, 20))
    assert pour_next(desk).startswith("No plan keeps every order by 29 Jan. Pour ")
    bare = replace(desk, shop=replace(desk.shop, workshop=Workshop()))
    assert pour_next(bare).startswith("What to pour next is not known: no moulds")


def test_a_favoured_bar_is_asked_for_more(desk: Desk) -> None:
    """Three times of one raises what is believed of it; none of one leaves it out."""
    plain = {s.code: s.rate.mean for s in plan(desk, wish()).standings}
    more = plan(desk, wish(favour={"DRF": 3.0, "WRK": 0.0}))
    found = {s.code: s.rate.mean for s in more.standings}
    assert found["DRF"] > plain["DRF"]
    assert "WRK" not in found


def test_an_order_that_no_pour_reaches_is_named(desk: Desk) -> None:
    """90 Eelgrass in three weeks: the plan says how many must be promised less."""
    from soapstock.enter import orders as enter

    enter.add(desk, "T-1", "A", ["EEL=90"], wanted_on=date(2026, 12, 10))
    found = plan(desk, wish(launch=date(2026, 12, 11)))
    gives = {give.kind: give for give in found.gives}
    eel = next(s for s in found.standings if s.code == "EEL")
    assert gives["promise"].fewer == {"EEL": eel.wanted - eel.late}
    assert found.plan is not None


def test_without_moulds_or_sales_it_refuses(desk: Desk, empty: Desk) -> None:
    """Nothing is guessed where nothing is known."""
    bare = replace(desk, shop=replace(desk.shop, workshop=Workshop()))
    with pytest.raises(RuleBroken, match="no moulds"):
        plan(bare, wish())
    with pytest.raises(RuleBroken, match="no moulds"):
        plan(empty, wish())
    with pytest.raises(NotFound, match="XXX"):
        plan(desk, wish(favour={"XXX": 2.0}))
    with pytest.raises(BadInput, match="past"):
        plan(desk, wish(first=date(2026, 11, 1)))
    with pytest.raises(BadInput, match="days after"):
        plan(desk, wish(launch=date(2026, 11, 20)))


def test_the_list_says_what_a_bar_is_worth_to_the_plan(desk: Desk) -> None:
    """A price for every variety is read; one that sells for ten times as much is poured first.

    What bars cost is read of batches whose every lot has a known cost, and is else a share of the
    price.
    """
    for code in ("DRF", "EBB", "EEL", "LAN", "MUD", "SAM", "WRK"):
        set_price(desk, code, "60" if code == "WRK" else "6")
    dear = plan(desk, wish())
    assert not [note for note in dear.notes if "has a price" in note]
    assert dear.plan is not None
    wrack = sum(p.bars for p in dear.plan.pours if p.code == "WRK")
    for code in ("DRF", "EBB"):
        assert wrack >= sum(p.bars for p in dear.plan.pours if p.code == code)
    by_fat = dear.a_kg_earns["beef-tallow"]
    wrk = next(v for v in dear.task.varieties if v.code == "WRK")
    of_a_bar = wrk.needs_g["beef-tallow"] / 1000
    assert next(iter(by_fat)) == "WRK"
    assert by_fat["WRK"] * of_a_bar == pytest.approx(wrk.price - wrk.cost)
