"""Which rule each statement of a label comes from, and which its size."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from soapstock.errors import BadInput
from soapstock.labelling.type_size import TypeRule, net_weight_placement, type_rule
from soapstock.labelling.wording import LabelWording, Statement


@dataclass(frozen=True, slots=True, kw_only=True)
class Explained:
    """One statement with the rules behind its words, its size and its place.

    Attributes:
        size: the type-height rule, or None when the panel's area is needed and was not given.
        place: where it must stand, in words, or empty.
    """

    statement: Statement
    size: TypeRule | None
    place: str


def placement_words(market: str, on: date, panel_area_cm2: float) -> str:
    """Where the net weight must stand on a panel of that area, in words; empty when anywhere.

    Raises:
        BadInput: unknown market; NoRuleInForce: the market is not covered on that day.
    """
    place = net_weight_placement(market, on, panel_area_cm2)
    parts = []
    if place.bottom_fraction is not None:
        parts.append(f"in the lowest {100 * place.bottom_fraction:.0f} % of the panel")
    if place.clear_above_below_heights:
        parts.append(
            f"clear space {place.clear_above_below_heights:g} x its height above and below,"
            f" {place.clear_sides_n_widths:g} x the width of N at the sides"
        )
    if place.bold:
        parts.append("bold")
    return f"{'; '.join(parts)} ({place.citation}; {place.confidence})" if parts else ""


def _place(wording: LabelWording, kind: str, panel_area_cm2: float | None) -> str:
    if kind != "net_weight" or wording.on is None or panel_area_cm2 is None:
        return ""
    return placement_words(wording.market, wording.on, panel_area_cm2)


def explain(wording: LabelWording, panel_area_cm2: float | None = None) -> tuple[Explained, ...]:
    """Every statement of a label with the rules behind it.

    Args:
        wording: the label's statements, made by word_label.
        panel_area_cm2: area of the package's principal display panel, cm2, where known.

    Raises:
        BadInput: the wording carries no day or market.
        NoRuleInForce: the market is not covered on its day.
    """
    if wording.on is None or not wording.market:
        raise BadInput("this wording carries no market and day to explain it by")
    found = []
    for statement in wording.statements:
        try:
            size = type_rule(
                wording.market,
                wording.on,
                panel_area_cm2=panel_area_cm2,
                nominal_g=wording.nominal_g,
                what=statement.kind,
                required=statement.required,
            )
        except BadInput:
            size = None
        found.append(
            Explained(
                statement=statement,
                size=size,
                place=_place(wording, statement.kind, panel_area_cm2),
            )
        )
    return tuple(found)
