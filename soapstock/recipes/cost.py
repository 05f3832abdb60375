"""What a batch cost, and a bar of it: money is Decimal, rounded once, when it is shown.

The whole cost of a batch is carried by the bars that can be sold; rejects and ends carry none of
it (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal

from soapstock.errors import BadInput

CENT = Decimal("0.01")


@dataclass(frozen=True, slots=True, kw_only=True)
class CostPart:
    """What one ingredient lot gave to a batch.

    Attributes:
        name: how to call it.
        used_g: mass used, g.
        lot_g: mass of the whole lot as received, g.
        lot_cost: what the whole lot cost, with its freight; None when nobody wrote it down.
    """

    name: str
    used_g: Decimal
    lot_g: Decimal
    lot_cost: Decimal | None

    @property
    def cost(self) -> Decimal | None:
        """The lot's cost in proportion to the mass used, exact; None when it is not known."""
        if self.lot_cost is None:
            return None
        if self.lot_g <= 0:
            raise BadInput(f"lot of {self.name} has no mass, so no cost a gram")
        return self.lot_cost * self.used_g / self.lot_g


@dataclass(frozen=True, slots=True, kw_only=True)
class BatchCost:
    """The cost of a batch.

    Attributes:
        total: known costs, packing and labour together, exact.
        per_bar: total over the bars that can be sold; None without bars.
        unknown: names of the parts whose cost nobody wrote down: the total lacks them.
    """

    total: Decimal
    per_bar: Decimal | None
    unknown: tuple[str, ...]


def batch_cost(
    parts: Sequence[CostPart],
    *,
    bars: int,
    packing: Decimal = Decimal(0),
    labour: Decimal = Decimal(0),
) -> BatchCost:
    """The cost of a batch from what it used.

    Args:
        parts: one for each lot used.
        bars: bars that can be sold.
        packing: of the whole batch.
        labour: of the whole batch.

    Raises:
        BadInput: a negative amount, or a lot without mass.
    """
    if packing < 0 or labour < 0 or bars < 0:
        raise BadInput("a cost or a count below nothing", hint="give zero or more")
    known = [part.cost for part in parts]
    total = sum((cost for cost in known if cost is not None), packing + labour)
    return BatchCost(
        total=total,
        per_bar=total / bars if bars else None,
        unknown=tuple(part.name for part, cost in zip(parts, known, strict=True) if cost is None),
    )


def money(amount: Decimal) -> Decimal:
    """An amount to the cent, half to even."""
    return amount.quantize(CENT, rounding=ROUND_HALF_EVEN)
