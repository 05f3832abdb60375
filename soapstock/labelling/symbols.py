"""The signs a label may carry: hourglass, open jar, hand on book, e-mark; meaning, size, drawing.

The drawing itself is render's; what it must look like is described in tables/law/symbols.toml.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from soapstock.errors import RuleBroken
from soapstock.labelling.law import NoRuleInForce, market_on
from soapstock.tables import read_toml


@dataclass(frozen=True, slots=True, kw_only=True)
class Symbol:
    """One sign.

    Attributes:
        key: hourglass, open-jar, hand-on-book or e-mark.
        stands_for: kind of the statement it stands beside or in for.
        meaning, draw: what it says, and how it looks.
        min_mm: least height, or None when the law names none.
        least_g, most_g: net weights it may stand beside, or None.
        citation, confidence: where it stands, and how we know it.
    """

    key: str
    stands_for: str
    meaning: str
    draw: str
    min_mm: float | None
    least_g: Decimal | None
    most_g: Decimal | None
    citation: str
    confidence: str


def symbols_for(market: str, on: date) -> tuple[Symbol, ...]:
    """The signs known in a market on a day. Raises BadInput (market) or NoRuleInForce."""
    market_on(market, on)
    return tuple(
        Symbol(
            key=row["key"],
            stands_for=row["stands_for"],
            meaning=row["meaning"],
            draw=row["draw"],
            min_mm=float(row["min_mm"]) if "min_mm" in row else None,
            least_g=Decimal(row["least_g"]) if "least_g" in row else None,
            most_g=Decimal(row["most_g"]) if "most_g" in row else None,
            citation=row["citation"],
            confidence=row["confidence"],
        )
        for row in read_toml("law/symbols.toml")["symbols"]
        if market in row["markets"] and row["from"] <= on
    )


def get_symbol(key: str, market: str, on: date, nominal_g: Decimal | None = None) -> Symbol:
    """The sign of that key, if it means something in that market and fits the weight.

    Raises:
        NoRuleInForce: the market does not know the sign on that day.
        RuleBroken: the net weight is outside the range the sign is for.
    """
    found = next((one for one in symbols_for(market, on) if one.key == key), None)
    if found is None:
        raise NoRuleInForce(
            f"the sign '{key}' means nothing in market '{market}' on {on.isoformat()}",
            hint="write the words instead",
        )
    if nominal_g is not None and found.least_g is not None and found.most_g is not None:
        if not found.least_g <= nominal_g <= found.most_g:
            raise RuleBroken(
                f"the {key} is for {found.least_g} g to {found.most_g} g, not {nominal_g} g"
                f" ({found.citation})",
                hint="leave it out",
            )
    return found


def opened_text(months: int) -> str:
    """The months beside the open jar, such as `12M`."""
    return f"{months}M"
