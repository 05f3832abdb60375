"""Whether the pH on record lets a bar be labelled, where a market's law names a limit.

Regulation (EC) No 1223/2009 Annex III entry 15a(d): pH below 11 where sodium or potassium hydroxide
is used to adjust it. That a cured bar falls under it is our reading, and the careful one.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from soapstock.errors import RuleBroken
from soapstock.labelling.law import find_rule

_FIGURE = re.compile(r"\d{1,2}(?:\.\d+)?")


@dataclass(frozen=True, slots=True, kw_only=True)
class PhReading:
    """One pH test on record: its day, and the figure as written down."""

    on: date
    value: str

    @property
    def ph(self) -> Decimal | None:
        """The figure, or None when what was written down holds none."""
        match = _FIGURE.search(self.value)
        return None if match is None else Decimal(match[0])


def check_ph(readings: Sequence[PhReading], market: str, on: date) -> tuple[str, ...]:
    """Refuse a bar whose latest pH is not below the market's limit; say so when none is on record.

    Args:
        readings: in any order; of the latest day the last one counts.
        market: market key.
        on: day of the label.

    Returns:
        Notes for the maker; empty in a market without such a rule.

    Raises:
        RuleBroken: the latest reading is at or above the limit; cites the rule.
    """
    rule = find_rule(market, "alkali", on)
    if rule is None or rule.below is None:
        return ()
    days = sorted(readings, key=lambda one: one.on)
    figures = [(one, one.ph) for one in days if one.ph is not None]
    known = f"{rule.citation}; {rule.confidence}"
    if not figures:
        return (
            f"No pH is on record; market '{market}' wants it below {rule.below} ({known})."
            " Measure it and record the figure.",
        )
    last, ph = figures[-1]
    if ph is not None and ph >= rule.below:
        raise RuleBroken(
            f"pH {ph} on {last.on.isoformat()} is not below {rule.below}, the limit of market"
            f" '{market}' ({known})",
            hint="let it cure and test again (a 1 % solution at room temperature); if it stays,"
            " hold the batch and ask whoever signs its safety report",
        )
    return ()
