"""The memory of the pot in the demo shop."""

from __future__ import annotations

from typing import Any

from soapstock.desk.desk import Desk
from soapstock.enter.pour import Conditions, pour
from soapstock.recipes.target import make_target
from soapstock.views.trace import after_pour, memory_words, pot_memory
from tests.desks import desk, empty

__all__ = ["desk", "empty"]


def poured(desk: Desk, **conditions: Any) -> list[str]:
    """What is noted of a small pot of Ebb."""
    done = pour(
        desk,
        "EBB",
        [],
        target=make_target(have="beef-tallow=300g", fat=None, bars=None, volume=None),
        as_planned=True,
        again=True,
        conditions=Conditions(**conditions),
    )
    return after_pour(desk, done.lot_code)


def test_the_shops_own_pots_speak(desk: Desk) -> None:
    """Seventeen pours stand in sample_data/pours.csv with 4 to 9 minutes to trace."""
    found = pot_memory(desk, "EBB")
    assert found.trace_minutes is not None
    assert (found.timed, found.seized) == (17, 0)
    assert 4.0 <= found.trace_minutes.nominal <= 9.0
    assert found.trace_minutes.low < 5.0
    assert "none of them does" in memory_words(found)[0]


def test_a_quick_pot_and_a_seized_one_are_said(desk: Desk) -> None:
    """Beside those before it; what the pot then was is kept and teaches the next."""
    assert "as usual" in poured(desk, lye_c=41, fats_c=44, trace_minutes=5.5)[-1]
    assert "faster than usual" in poured(desk, lye_c=41, fats_c=44, trace_minutes=1)[-1]
    before = pot_memory(desk, "EBB")
    assert "It seized after 1 min: faster" in poured(desk, trace_minutes=1, seized=True)[-1]
    after = pot_memory(desk, "EBB")
    assert after.seized == 1
    assert before.trace_minutes is not None
    assert after.trace_minutes is not None
    assert after.trace_minutes.low < before.trace_minutes.low
    assert poured(desk) == []


def test_fats_poured_cool_are_told_apart_from_trace(desk: Desk) -> None:
    """Below where they may set, what thickens may be fat."""
    assert "may be fat, not trace" in poured(desk, fats_c=27)[0]


def test_a_new_shop_knows_nothing_yet(desk: Desk) -> None:
    """Of the day before its first pour was timed."""
    from soapstock.planning.trace import minutes_to_trace
    from soapstock.views.trace import pots_of

    with desk.ledger.read() as reader:
        batches = reader.batches()
    pots = pots_of(batches)
    assert minutes_to_trace(pots[:2], pots[2]) is None
    assert pots[0].scents == ("virginia-cedarwood-oil",)
    assert 25.0 < pots[0].lye_percent < 45.0


def test_the_command_reads_at_eighty_columns(demo_shop: Any, run: Any) -> None:
    """What is known, as sentences and as JSON."""
    told = run(
        "--shop", demo_shop, "--today", "2026-11-20", "recipe", "pot", "DRF", "--temp", "40C"
    )
    assert told.code == 0
    assert "with 90 % sure" not in told.out
    assert "Trace at 40 °C after about" in told.out
    assert max(map(len, told.out.splitlines())) <= 80
    found = run("--shop", demo_shop, "recipe", "pot", "DRF", "--json")
    assert '"trace_minutes"' in found.out
