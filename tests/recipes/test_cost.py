"""What a batch and a bar cost."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from soapstock.errors import BadInput
from soapstock.recipes.cost import CostPart, batch_cost, money

AMOUNT = st.decimals(min_value=0, max_value=1000, places=2)
MASS = st.decimals(min_value=1, max_value=10_000, places=3)


def part(cost: str | None, used: str = "1", lot: str = "1") -> CostPart:
    """A part that used a share of a lot."""
    paid = Decimal(cost) if cost is not None else None
    return CostPart(name="x", used_g=Decimal(used), lot_g=Decimal(lot), lot_cost=paid)


def test_a_makers_worked_example() -> None:
    """8.74 oils + 1.30 lye and water + 7.03 additives + 5.27 packing over 15 bars is 1.49.

    Source: a maker's published costing example (facts, curing.md section 7, READ): 22.34 a batch.
    """
    parts = [part("8.74"), part("1.30"), part("7.03")]
    cost = batch_cost(parts, bars=15, packing=Decimal("5.27"))
    assert cost.total == Decimal("22.34")
    assert cost.per_bar is not None
    assert money(cost.per_bar) == Decimal("1.49")


@given(AMOUNT, MASS)
def test_a_lot_used_up_costs_what_it_cost(paid: Decimal, mass: Decimal) -> None:
    """Two pours that share a lot share its cost, and nothing is lost."""
    half = mass / 2
    one = CostPart(name="x", used_g=half, lot_g=mass, lot_cost=paid).cost
    two = CostPart(name="x", used_g=mass - half, lot_g=mass, lot_cost=paid).cost
    assert one is not None
    assert two is not None
    assert abs(one + two - paid) < Decimal("1e-9")


def test_an_unknown_cost_is_named_not_guessed() -> None:
    """A lot without a cost is left out of the total and named."""
    cost = batch_cost([part("2.00"), part(None)], bars=2)
    assert (cost.total, cost.unknown) == (Decimal("2.00"), ("x",))


def test_no_bars_no_cost_a_bar() -> None:
    """A batch still in its mould has no cost a bar."""
    assert batch_cost([part("2.00")], bars=0).per_bar is None


def test_a_negative_cost_is_refused() -> None:
    """Nobody is paid for packing."""
    with pytest.raises(BadInput):
        batch_cost([], bars=1, packing=Decimal(-1))
