"""What a batch cost, from the lots it used."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from soapstock.desk.desk import Desk
from soapstock.desk.finding import read_lot
from soapstock.recipes.cost import CostPart, batch_cost, money
from soapstock.units import g_from_mg
from soapstock.views.batch import BatchView, view

if TYPE_CHECKING:
    from soapstock.ledger.facts import Use
    from soapstock.recipes.cost import BatchCost, CostPart


@dataclass(frozen=True, slots=True, kw_only=True)
class Costed:
    """A batch with its parts and what they cost."""

    item: BatchView
    parts: tuple[CostPart, ...]
    cost: BatchCost
    bars: int
    currency: str


def cost_of(
    desk: Desk, lot: str, *, packing: Decimal = Decimal(0), labour: Decimal = Decimal(0)
) -> Costed:
    """The cost of a batch over the good bars it gave; samples kept back carry no share of it.

    Args:
        packing: cost of packing the whole batch.
        labour: cost of the work on the whole batch.
    """
    with desk.reading() as (here, _):
        item = view(here, read_lot(here, lot, kind="batch"))
        soap = [_soap_part(here, use) for use in item.facts.pour.uses if use.bars]
    parts = []
    for use in item.facts.pour.uses:
        if use.bars:
            parts.append(soap.pop(0))
            continue
        found = item.facts.lot_of(use)
        paid = found.cost_cents if found is not None else None
        parts.append(
            CostPart(
                name=use.ingredient,
                used_g=g_from_mg(use.mass_mg),
                lot_g=g_from_mg(found.mass_mg) if found is not None else Decimal(1),
                lot_cost=Decimal(paid) / 100 if paid is not None else None,
            )
        )
    bars = item.facts.unmould.bars if item.facts.unmould else 0
    bars -= sum(at.bars for at in item.facts.held if at.kind == "retained")
    return Costed(
        item=item,
        parts=tuple(parts),
        cost=batch_cost(parts, bars=bars, packing=packing, labour=labour),
        bars=bars,
        currency=desk.shop.currency,
    )


def _soap_part(desk: Desk, use: Use) -> CostPart:
    """What rebatched bars cost when they were made; not known where any part of them is not."""
    made = cost_of(desk, use.lot_code or "")
    share = Decimal(use.bars or 0) / (made.bars or 1)
    used_g = g_from_mg(use.mass_mg)
    return CostPart(
        name=f"{use.ingredient} {use.lot_shown}",
        used_g=used_g,
        lot_g=used_g / share,
        lot_cost=None if made.cost.unknown else made.cost.total,
    )


def cost_record(costed: Costed) -> dict[str, Any]:
    """The cost as a JSON record."""
    per_bar = costed.cost.per_bar
    return {
        "lot": costed.item.facts.lot_code.shown,
        "currency": costed.currency,
        "parts": [
            {
                "ingredient": part.name,
                "used_g": part.used_g,
                "cost": money(part.cost) if part.cost is not None else None,
            }
            for part in costed.parts
        ],
        "total": money(costed.cost.total),
        "bars": costed.bars,
        "per_bar": money(per_bar) if per_bar is not None else None,
        "unknown": list(costed.cost.unknown),
    }
