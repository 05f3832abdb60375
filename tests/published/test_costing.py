"""Published worked examples of costing, and the accounting standard's words on what cost is."""

from __future__ import annotations

from decimal import Decimal

from soapstock.money.flow import Lot, Step, flow
from soapstock.money.share import amount


def test_a_makers_worked_example() -> None:
    """8.74 oils + 1.30 lye and water + 7.03 additives + 5.27 packing over 15 bars is 1.49.

    Source: a maker's published costing example (facts, curing.md section 7, READ): 22.34 a batch.
    """
    lots = [
        Lot(id=1, pieces=1, own_cents=874),
        Lot(id=2, pieces=1, own_cents=130),
        Lot(id=3, pieces=1, own_cents=703),
        Lot(id=4, pieces=15, own_cents=527),
    ]
    used = [Step(4, n, "lot", 1, 4) for n in (1, 2, 3)]
    sold = [Step(5 + n, 4, "sold", 1) for n in range(15)]
    batch = flow(lots, [*used, *sold])[4]
    assert amount(batch.cents) == Decimal("22.34")
    assert {cents for _, cents in batch.went} == {148, 149}
    assert sum(cents for _, cents in batch.went) == 2234


def test_the_rounding_trap_of_a_makers_example() -> None:
    """17.00 over 12 bars is 1.42 rounded; twelve bars at that would be 17.04, not 17.00.

    Source: a maker's published example (facts, curing.md section 7: "rounding trap", READ;
    COMPUTED).
    """
    lots = [Lot(id=1, pieces=12, own_cents=1700)]
    bars = flow(lots, [Step(n, 1, "sold", 1) for n in range(12)])[1].went
    assert {cents for _, cents in bars} == {141, 142}
    assert sum(cents for _, cents in bars) == 1700
