"""Entering: client keys, stamps, and that random histories balance."""

import contextlib
from dataclasses import replace
from datetime import datetime

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from soapstock.errors import AlreadyEntered, BadInput, RuleBroken, SoapstockError
from soapstock.ledger.keep.audit import audit, check_balance, check_chain
from soapstock.ledger.store import open_ledger


def test_a_client_key_needs_what_was_said_under_it(ledger, maker):
    """Without it another fact under the key could not be told from the same one."""
    with pytest.raises(BadInput, match="what the client said"), ledger.write() as w:
        w.add_place(maker.stamp(client_key="scan-77"), "rack-2", "rack")


def test_client_key_for_something_else_is_refused(ledger, maker):
    """A key names one thing said; another under it is a mistake."""
    stamp = maker.stamp(40, client_key="scan-77", client_said="a" * 64)
    with ledger.write() as w:
        maker.released(w)
        w.ship(stamp, "DRF1", 4, "rack", "Invented Shop")
    other = replace(stamp, client_said="b" * 64)
    with pytest.raises(RuleBroken, match="scan-77' was used before"), ledger.write() as w:
        w.ship(other, "DRF1", 5, "rack", "Invented Shop")


def test_entry_needs_a_name(ledger, maker):
    """Every entry says by whom."""
    with pytest.raises(BadInput, match="who did it is empty"), ledger.write() as w:
        w.add_place(maker.stamp(by=" "), "rack-2", "rack")


def test_entry_time_needs_a_zone(ledger, maker):
    """Instants are UTC, never guessed."""
    stamp = replace(maker.stamp(), entered_at=datetime(2026, 9, 1))  # noqa: DTZ001
    with pytest.raises(BadInput, match="no time zone"), ledger.write() as w:
        w.add_place(stamp, "rack-2", "rack")


def test_entry_ids_have_no_gaps_after_a_rollback(ledger, maker):
    """A failed transaction uses up no number, so a missing one is a finding."""
    with ledger.write() as w:
        maker.receive(w)

    def failing() -> None:
        with ledger.write() as w:
            maker.receive(w, "TAL2")
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        failing()
    with ledger.write() as w:
        assert maker.receive(w, "TAL3") == 2


ACTIONS = st.lists(
    st.tuples(
        st.sampled_from(
            [
                "receive",
                "pour",
                "unmould",
                "weigh",
                "release",
                "hold",
                "move",
                "ship",
                "return",
                "retain",
                "waste",
                "count",
                "undo",
            ]
        ),
        st.integers(1, 3),
        st.integers(1, 12),
        st.sampled_from(["rack", "shelf", "store", "retained", "returned", "waste"]),
    ),
    max_size=40,
)


@settings(
    max_examples=60,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(actions=ACTIONS)
def test_random_histories_always_balance(sqlite_url, maker, actions):
    """Whatever is entered or refused, entries sum to zero and no place goes below nothing."""
    problems: list[object] = []
    with open_ledger(sqlite_url) as ledger, contextlib.suppress(_Enough), ledger.write() as w:
        _play(w, maker, actions)
        problems += [*check_balance(w.db), *check_chain(w.db)]
        raise _Enough
    assert problems == []


class _Enough(Exception):
    """Ends an example."""


def _play(writer, maker, actions):
    maker.recipe(writer)
    for kind, lot, number, place in actions:
        try:
            _one(writer, maker, kind, str(lot), number, place)
        except SoapstockError:
            continue


def _one(w, maker, kind, lot, number, place):  # noqa: C901 (a list of what can happen)
    bars, fat, stamp = f"DRF{lot}", f"TAL{lot}", maker.stamp(40, note="because")
    if kind == "receive":
        maker.receive(w, fat, number * 1_000_000)
    elif kind == "pour":
        maker.pour(w, bars, used=fat, mass_mg=number * 500_000)
    elif kind == "unmould":
        w.unmould(maker.stamp(2), bars, number, number // 3, 1, 100_000)
    elif kind == "weigh":
        w.weigh(stamp, bars, number, number * 90_000)
    elif kind in {"release", "hold"}:
        w.decide(stamp, bars, kind, "why")
    elif kind == "move":
        w.move(stamp, bars, number, "bars", "rack", place)
    elif kind == "ship":
        w.ship(stamp, bars, number, place, "Invented Shop")
    elif kind == "return":
        w.take_back(stamp, bars, number, "Invented Shop")
    elif kind == "retain":
        w.retain(stamp, bars, number, place)
    elif kind == "waste":
        w.waste(stamp, bars, number, place, "dropped")
    elif kind == "count":
        w.count(stamp, bars, place, number)
    else:
        w.undo(stamp, number, "wrong")


def test_a_key_with_what_was_said_stands_for_a_whole_transaction(ledger, maker):
    """Its first entry bears the key; the next transaction that says the same writes nothing."""
    stamp = maker.stamp(40, client_key="parcel-1", client_said="a" * 64)
    with ledger.write() as w:
        maker.released(w)
    with ledger.write() as w:
        first = w.ship(stamp, "DRF1", 4, "rack", "Invented Shop")
        w.ship(stamp, "DRF1", 2, "rack", "Invented Shop")
    with pytest.raises(AlreadyEntered, match=f"under entry {first} "), ledger.write() as w:
        w.ship(stamp, "DRF1", 4, "rack", "Invented Shop")
    with ledger.read() as r:
        assert r.batch("DRF1").places["customer"] == 6
        assert audit(r).problems == ()


def test_a_recipe_under_a_used_key_is_refused(ledger, maker):
    """Recipes answer to keys as facts do."""
    stamp = maker.stamp(client_key="form-1", client_said="a" * 64)
    with ledger.write() as w:
        w.add_recipe(stamp, code="DRF", text="code = 'DRF'\n")
    other = replace(stamp, client_said="b" * 64)
    with pytest.raises(RuleBroken, match="used before"), ledger.write() as w:
        w.add_recipe(other, code="EBB", text="code = 'EBB'\n")
