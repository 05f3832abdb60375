"""Published worked examples of costing, and the accounting standard's words on what cost is."""

from __future__ import annotations

from decimal import Decimal

from soapstock.money.flow import Lot, Step, flow
from soapstock.money.share import amount, apportion


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


def test_a_joint_cost_by_physical_measure() -> None:
    """2400 over 700 and 300 pounds is 1680 and 720; 465 000 over 4, 16 and 12 thousand gallons.

    Sources: lecture notes "Joint Cost Allocation" (scribd.com document 54185716, illustration 1,
    READ); the published exercise on joint chemicals of September 2008 (jiskha.com 1256602061, READ;
    its answers COMPUTED: 58 125, 232 500 and 174 375).
    """
    assert apportion(240_000, [700, 300]) == [168_000, 72_000]
    gallons = [4_000, 16_000, 12_000]
    assert apportion(46_500_000, gallons) == [5_812_500, 23_250_000, 17_437_500]


def test_a_joint_cost_by_sales_value() -> None:
    """5840 over 29 lb at 103 and 116 lb at 35 is 2475 and 3365, whole dollars.

    Source: a worked answer (justaaa.com/accounting/253797, READ; recomputed).
    """
    assert apportion(5840, [29 * 103, 116 * 35]) == [2475, 3365]
