"""Choosing and checking a declared weight against what the drying model expects of the bars.

The average may not fall below the label (16 CFR 500.25(c); Directive 76/211/EEC Annex I), and one
bar may be short only by the MAV or TNE. What the model does not know, the spread between bars, is
checked on weighed bars: see sampling.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Protocol

from soapstock.errors import BadInput
from soapstock.labelling.law import get_market
from soapstock.labelling.netweight import NetWeight, enforced_g, net_weight
from soapstock.labelling.tolerance import Tolerance, mav_g, tne_g

SURE = 0.95  # chance we ask for unless told; our own choice, the law says average, not chance
_STEPS = 40  # halvings of the search: well below a gram


class DryingForecast(Protocol):
    """What is asked of the cure model."""

    def chance_mean_at_least(self, mass_g: float, day: float) -> float:
        """Chance that the mean bar weighs at least mass_g, day days after the pour."""
        ...


@dataclass(frozen=True, slots=True, kw_only=True)
class DeclaredAdvice:
    """A declared weight and how likely the bars keep it.

    Attributes:
        weight: as it would be printed; checked_g: the larger declaration, which is enforced.
        tolerance: most one bar may be short (MAV or TNE), or None where no such rule is known.
        chance_at_pack, chance_at_best_before: that the average keeps checked_g; the latter None
            without a date.
        largest_g: largest whole gram the average keeps at pack with the chance asked for.
        largest_to_end_g: the same up to best-before, or None.
        notes: what to know.
    """

    weight: NetWeight
    checked_g: Decimal
    tolerance: Tolerance | None
    chance_at_pack: float
    chance_at_best_before: float | None
    largest_g: Decimal | None
    largest_to_end_g: Decimal | None
    notes: tuple[str, ...]


def tolerance_for(label_g: Decimal, market: str) -> Tolerance | None:
    """What the market lets one bar be short by: MAV or TNE, or None (not in our tables)."""
    kind = get_market(market).tolerance
    if kind is None:
        return None
    return mav_g(label_g) if kind == "mav" else tne_g(label_g, market)


def largest_kept_g(
    forecast: DryingForecast, day: float, *, chance: float = SURE, top_g: float
) -> Decimal | None:
    """Largest whole gram that the mean bar keeps on a day with at least that chance.

    Args:
        day: days after the pour.
        chance: asked for, fraction 0-1 (both ends left out).
        top_g: a mass it surely is below, such as the bar's at unmoulding, g.

    Returns:
        grams, or None when not even one is kept.

    Raises:
        BadInput: chance or top_g out of range.
    """
    if not 0.0 < chance < 1.0:
        raise BadInput(f"chance {chance:g} is not between 0 and 1")
    if not 0.0 < top_g < float("inf"):
        raise BadInput(f"mass {top_g:g} g is not above zero")
    low, high = 0.0, top_g
    for _ in range(_STEPS):
        middle = (low + high) / 2.0
        if forecast.chance_mean_at_least(middle, day) >= chance:
            low = middle
        else:
            high = middle
    whole = int(low + 1e-6)
    return Decimal(whole) if whole >= 1 else None


def advise_declared(
    declared_g: Decimal,
    forecast: DryingForecast,
    *,
    market: str,
    pack_day: float,
    best_before_day: float | None,
    top_g: float,
    chance: float = SURE,
    on: date | None = None,
) -> DeclaredAdvice:
    """Judge a declared weight, and name the largest that could be declared.

    Args:
        declared_g: the promise, g.
        forecast: the batch's drying.
        market: market key.
        pack_day, best_before_day: days after the pour.
        top_g: mean mass of a bar at unmoulding, g.
        chance: that the average keeps it, which we ask for.
        on: day of the label.

    Raises:
        BadInput: unknown market, or a figure out of range.
        NoRuleInForce: the market is not covered on that day.
    """
    weight = net_weight(declared_g, market, on)
    checked = enforced_g(weight)
    at_pack = forecast.chance_mean_at_least(float(checked), pack_day)
    largest = largest_kept_g(forecast, pack_day, chance=chance, top_g=top_g)
    at_end = largest_to_end = None
    if best_before_day is not None:
        at_end = forecast.chance_mean_at_least(float(checked), best_before_day)
        largest_to_end = largest_kept_g(forecast, best_before_day, chance=chance, top_g=top_g)
    return DeclaredAdvice(
        weight=weight,
        checked_g=checked,
        tolerance=tolerance_for(checked, market),
        chance_at_pack=at_pack,
        chance_at_best_before=at_end,
        largest_g=largest,
        largest_to_end_g=largest_to_end,
        notes=tuple(_notes(market, at_pack, at_end, chance)),
    )


def _notes(market: str, at_pack: float, at_end: float | None, chance: float) -> list[str]:
    notes = []
    if at_pack < chance:
        notes.append(
            f"The average keeps it at pack with a chance of {100 * at_pack:.0f} % only;"
            " declare less, or wait and weigh again."
        )
    if at_end is not None and at_end < chance <= at_pack:
        law = get_market(market).after_sale
        said = f"Kept up to best-before with a chance of {100 * at_end:.0f} % only"
        notes.append(f"{said}; {law}." if law else f"{said}.")
    return notes
