"""What the demo's batches cost."""

from __future__ import annotations

from decimal import Decimal

from soapstock.desk.desk import Desk
from soapstock.enter.move import retain
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
    """Of 22 bars one is kept back as a sample: 21 share 21.00 more, one more each."""
    bare = cost_of(desk, READY).cost.per_bar
    more = cost_of(desk, READY, packing=Decimal(10), labour=Decimal(11)).cost.per_bar
    assert bare is not None
    assert more is not None
    assert round(more - bare, 20) == Decimal(1)  # a Decimal carries 28 digits


def test_a_bar_kept_back_carries_no_cost(desk: Desk) -> None:
    """One more kept back leaves one less to share the cost (common practice, no source)."""
    before = cost_of(desk, READY)
    retain(desk, READY, 1, from_place="rack" if "rack" in before.item.facts.places else "shelf")
    assert cost_of(desk, READY).bars == before.bars - 1


def test_a_batch_in_its_mould_has_no_cost_a_bar(desk: Desk) -> None:
    """Without bars there is no cost a bar."""
    assert cost_record(cost_of(desk, "SAM-26323-AN"))["per_bar"] is None
