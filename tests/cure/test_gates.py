"""The five gates and the eight states."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import pytest

from soapstock.cure.gates import GateFacts, read_gates
from soapstock.cure.model import Forecast

Weighed = Callable[[Sequence[tuple[float, float]]], Forecast]
POURED = date(2026, 9, 1)
READINGS = [(7.0, 124.0), (14.0, 120.5), (21.0, 118.5), (28.0, 117.5), (35.0, 117.0)]


@pytest.fixture
def ready(weighed: Weighed) -> GateFacts:
    """A batch with everything in order on day 40."""
    return GateFacts(
        poured_on=POURED,
        unmoulded_on=POURED + timedelta(days=1),
        today=POURED + timedelta(days=40),
        cure_days=35,
        forecast=weighed(READINGS),
        dry_week_loss_percent=1.0,
        declared_g=Decimal(110),
        best_before=date(2028, 3, 1),
        free_alkali_passed=True,
        test_note="tongue",
        decision="release",
        decision_note="A. Maker: sound",
        bars_left=20,
    )


def test_a_batch_in_order_is_ready(ready: GateFacts) -> None:
    """All gates open, nothing missing, ready by no later than today."""
    answer = read_gates(ready)
    assert answer.state == "ready"
    assert answer.open_now
    assert answer.missing == ()
    assert list(answer.gates) == ["cured", "dry", "tested", "weight", "released"]
    assert answer.ready_by is not None
    assert answer.ready_by.late <= ready.today


@pytest.mark.parametrize(
    ("change", "state", "gate"),
    [
        ({"decision": "reject"}, "rejected", "released"),
        ({"decision": "hold"}, "on hold", "released"),
        ({"decision": None}, "awaiting release", "released"),
        ({"bars_left": 0}, "gone", None),
        ({"unmoulded_on": None}, "in mould", "dry"),
        ({"free_alkali_passed": None}, "awaiting test", "tested"),
        ({"free_alkali_passed": False}, "failed", "tested"),
        ({"today": POURED + timedelta(days=34)}, "curing", "cured"),
        ({"today": POURED + timedelta(days=34), "free_alkali_passed": None}, "curing", "tested"),
        ({"dry_week_loss_percent": 0.05}, "curing", "dry"),
        ({"declared_g": Decimal(117)}, "awaiting release", "weight"),
        ({"forecast": None}, "curing", "dry"),
    ],
)
def test_one_thing_out_of_order_gives_its_state(
    ready: GateFacts, change: dict[str, object], state: str, gate: str | None
) -> None:
    """Each fact changed alone closes its gate, gives its word, and is not ready."""
    answer = read_gates(replace(ready, **change))  # type: ignore[arg-type]
    assert answer.state == state
    assert not answer.open_now
    if gate:
        assert not answer.gates[gate].open
        assert answer.gates[gate].reason in answer.missing


@pytest.mark.parametrize(("day", "is_open"), [(34, False), (35, True), (36, True)])
def test_cured_opens_on_the_day_itself(ready: GateFacts, day: int, is_open: bool) -> None:
    """35 days of cure end on day 35, not before."""
    answer = read_gates(replace(ready, today=POURED + timedelta(days=day)))
    assert answer.gates["cured"].open is is_open


def test_a_batch_never_weighed_must_be_nearly_sure_to_be_dry(
    ready: GateFacts, weighed: Weighed
) -> None:
    """Without weigh-ins the dry gate stays shut when half the bars like it would be dry."""
    middle = int(weighed([]).dry_day().expected) + 2
    facts = replace(ready, forecast=weighed([]), today=POURED + timedelta(days=middle))
    assert not read_gates(facts).gates["dry"].open
    assert "no weigh-in" in read_gates(facts).gates["dry"].reason
    assert read_gates(replace(facts, today=POURED + timedelta(days=60))).gates["dry"].open


def test_the_ready_by_dates_wait_for_both_cure_and_drying(
    ready: GateFacts, weighed: Weighed
) -> None:
    """Early on, the dates are in order, in the future, and not before the cure days are over."""
    facts = replace(ready, today=POURED + timedelta(days=8), forecast=weighed(READINGS[:1]))
    dates = read_gates(facts).ready_by
    assert dates is not None
    assert POURED + timedelta(days=35) <= dates.early <= dates.expected <= dates.late
    short = read_gates(replace(facts, cure_days=0)).ready_by
    assert short is not None
    assert facts.today < short.early <= short.expected < short.late


def test_a_date_that_has_passed_without_drying_moves_to_tomorrow(ready: GateFacts) -> None:
    """While the dry gate is shut no ready-by date lies in the past."""
    facts = replace(ready, dry_week_loss_percent=0.05)
    dates = read_gates(facts).ready_by
    assert dates is not None
    assert dates.early > facts.today


def test_without_a_declared_weight_nothing_is_promised(ready: GateFacts) -> None:
    """The weight gate is open, and says why."""
    gate = read_gates(replace(ready, declared_g=None)).gates["weight"]
    assert gate.open
    assert "none is promised" in gate.reason


def test_a_failed_test_says_not_to_sell(ready: GateFacts) -> None:
    """The reason is plain."""
    gate = read_gates(replace(ready, free_alkali_passed=False)).gates["tested"]
    assert "do not sell" in gate.reason


def test_without_a_best_before_the_weight_must_hold_to_the_end(ready: GateFacts) -> None:
    """The reason says how long the promise was looked at."""
    gate = read_gates(replace(ready, best_before=None)).gates["weight"]
    assert gate.open
    assert "the end of drying" in gate.reason
