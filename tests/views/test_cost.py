"""What the demo's batches cost."""

from __future__ import annotations

from decimal import Decimal

from soapstock.desk.desk import Desk
from soapstock.views.cost import cost_of, cost_record

READY = "DRF-26241-AZ"


def test_a_batch_costs_its_share_of_each_lot(desk: Desk) -> None:
    """529 g of 10 kg of coconut for 61.50 cost 3.25; own tallow has no cost and is named."""
    record = cost_record(cost_of(desk, READY))
    coconut = next(p for p in record["parts"] if p["ingredient"] == "coconut")
    assert coconut["cost"] == (Decimal("61.50") * coconut["used_g"] / 10_000).quantize(
        Decimal("0.01")
    )
    assert "beef-tallow" in record["unknown"]


def test_packing_and_labour_are_carried_by_the_good_bars(desk: Desk) -> None:
    """22 bars share 22.00 more: one more each."""
    bare = cost_of(desk, READY).cost.per_bar
    more = cost_of(desk, READY, packing=Decimal(10), labour=Decimal(12)).cost.per_bar
    assert bare is not None
    assert more is not None
    assert round(more - bare, 20) == Decimal(1)  # a Decimal carries 28 digits


def test_a_batch_in_its_mould_has_no_cost_a_bar(desk: Desk) -> None:
    """Without bars there is no cost a bar."""
    assert cost_record(cost_of(desk, "SAM-26323-AN"))["per_bar"] is None
