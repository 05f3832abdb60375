"""Orders as they go into the ledger, as plain frozen records."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderLineFacts:
    """Bars of one recipe wanted."""

    recipe_code: str
    bars: int
    price_cents: int | None = None
    currency: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderFacts:
    """An order as it came in; `wanted_on` is the day it should leave."""

    order_ref: str
    customer: str
    lines: tuple[OrderLineFacts, ...]
    contact: str = ""
    destination: str = ""
    wanted_on: date | None = None
