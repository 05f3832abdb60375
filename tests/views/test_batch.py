"""What a batch is today, and the curing and ready lists."""

from __future__ import annotations

from datetime import date

import pytest

from soapstock.desk.desk import Desk
from soapstock.enter import batch as enter_batch
from soapstock.exchange.tabular import plain
from soapstock.views import batch, lists
from tests.desks import on

KEYS = {"lot", "recipe", "state", "bars", "ready_by", "gates", "best_before"}


def by_lot(items: list[batch.BatchView]) -> dict[str, batch.BatchView]:
    """Views by the start of their lot code."""
    return {item.facts.lot_code[:8]: item for item in items}


def test_every_batch_stands_in_one_list_or_is_gone(desk: Desk) -> None:
    """Curing and ready together hold every batch with bars, none twice."""
    curing = {item.facts.lot_code for item in lists.curing(desk)}
    ready = {line.item.facts.lot_code for line in lists.ready(desk)}
    assert not curing & ready
    assert curing | ready == {item.facts.lot_code for item in batch.views(desk)}


def test_the_curing_list_keeps_its_keys(desk: Desk) -> None:
    """The documented keys are in every record."""
    for item in lists.curing(desk):
        record = plain(lists.row(item))
        assert record.keys() >= KEYS
        assert list(record["gates"]) == ["cured", "dry", "tested", "weight", "released"]


def test_a_held_batch_comes_first(desk: Desk) -> None:
    """The curing list begins with what needs a person."""
    assert lists.curing(desk)[0].readiness.state == "on hold"


def test_the_damp_batch_is_marked(desk: Desk) -> None:
    """The batch of the damp rack carries a mark; those on the dry rack do not."""
    views = by_lot(batch.views(desk))
    assert views["SAM26279"].alarms
    assert not views["SAM26251"].alarms


def test_ready_lists_earliest_best_before_first(desk: Desk) -> None:
    """What is ready now is sorted by best-before."""
    dates = [line.item.best_before for line in lists.ready(desk) if line.now]
    assert dates == sorted(dates, key=lambda d: d or date.max)


def test_a_short_dated_oil_shortens_the_batch(desk: Desk) -> None:
    """The lot of oil that ends on 2027-04-15 caps its batch's best-before and is named."""
    item = by_lot(batch.views(desk))["LAN26297"]
    assert item.best_before == date(2027, 4, 15)
    assert "HIG" in item.keeping_why


def test_ready_by_a_day_adds_what_is_expected(desk: Desk) -> None:
    """The week's list holds all that is ready now, and more."""
    now = {line.item.facts.lot_code for line in lists.ready(desk)}
    week = {line.item.facts.lot_code for line in lists.ready(desk, date(2026, 11, 27))}
    assert now < week


def test_a_held_batch_is_never_in_the_ready_list(desk: Desk) -> None:
    """Whatever the day, a batch on hold is not offered."""
    far = lists.ready(desk, date(2028, 1, 1))
    assert all(line.item.readiness.state != "on hold" for line in far)


def test_weight_falls_with_the_days(desk: Desk) -> None:
    """The expected mass of a curing bar is no more a week later."""
    now = by_lot(batch.views(desk))["DRF26316"]
    later = by_lot(batch.views(on(desk, "2026-11-27")))["DRF26316"]
    mass, then = batch.mass_now_g(now), batch.mass_now_g(later)
    assert mass is not None
    assert then is not None
    assert then < mass


def test_start_water_comes_from_the_masses(desk: Desk) -> None:
    """The water share at the start is the poured water over the poured mass."""
    item = by_lot(batch.views(desk))["DRF26316"]
    assert item.start is not None
    water = item.actual.water_g / (float(batch.batter_g(item)))
    assert item.start.water_fraction == pytest.approx(water, abs=0.004)


def test_a_ph_alone_does_not_open_the_tested_gate(desk: Desk) -> None:
    """A pH only catches gross error."""
    lot = by_lot(batch.views(desk))["EBB26285"].facts.lot_code
    enter_batch.test(desk, lot, "ph", passed=None, value="10.1")
    assert not batch.view(desk, lot).readiness.gates["tested"].open


def test_a_failed_ph_shuts_the_tested_gate(desk: Desk) -> None:
    """A gross error shuts the gate even after a passed tongue test."""
    lot = by_lot(batch.views(desk))["MUD26267"].facts.lot_code
    assert batch.view(desk, lot).readiness.gates["tested"].open
    enter_batch.test(desk, lot, "ph", passed=None, value="11.6")
    assert not batch.view(desk, lot).readiness.gates["tested"].open


def test_an_earlier_day_knows_nothing_of_later_facts(desk: Desk) -> None:
    """As of 10 October: no later pours, weigh-ins, tests, decisions or shipments."""
    day = date(2026, 10, 10)
    then = batch.views(on(desk, day.isoformat()))
    assert then
    for item in then:
        facts = item.facts
        assert facts.poured_on <= day
        for record in (*facts.weigh_ins, *facts.tests, *facts.decisions, *facts.shipments):
            assert record.on <= day


def test_an_earlier_day_counts_the_bars_of_that_day(desk: Desk) -> None:
    """Driftwood had all its bars on the rack on 1 October; shipments came later."""
    then = by_lot(batch.views(on(desk, "2026-10-01")))["DRF26241"]
    assert dict(then.facts.places) == {"rack": 22}


def test_a_weigh_in_under_the_label_shuts_the_weight_gate(desk: Desk) -> None:
    """The latest reading under the declared weight is told at once and stops a release."""
    told = enter_batch.weigh(desk, "EBB-26285-AZ", 10, "1100 g")
    assert "Under the declared" in told.notes[0]
    gate = batch.view(desk, "EBB26285AZ").readiness.gates["weight"]
    assert not gate.open
    assert "110.0 g" in gate.reason


def test_a_shop_says_how_many_faces_dry(desk: Desk) -> None:
    """Bars lying on a board dry from five faces; the model is told so."""
    from dataclasses import replace

    boarded = replace(desk, shop=replace(desk.shop, drying_faces=5))
    faces = [by_lot(batch.views(d))["DRF26316"].start for d in (desk, boarded)]
    assert [start.faces for start in faces if start is not None] == ["six", "five"]
