"""The best-before date of a batch: the maker's months, cut short by the earliest ingredient.

common practice, no source: a bar is given no longer than its earliest-expiring ingredient lot.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from dateutil.relativedelta import relativedelta

from soapstock.errors import BadInput


def best_before(
    made_on: date, months: int | None, ingredient_best_befores: Mapping[str, date]
) -> tuple[date | None, str]:
    """The date to print and the reason for it.

    Args:
        made_on: day of pour, local.
        months: the recipe's promise in months after pour, or None: then no date is promised.
        ingredient_best_befores: best-before of each ingredient lot used, by lot code.

    Raises:
        BadInput: months not from 1 to 600.
    """
    if months is None:
        return None, "the recipe promises no best-before"
    if not 1 <= months <= 600:  # noqa: PLR2004  fifty years: above it the figure is a slip
        raise BadInput(f"best-before months {months} is not from 1 to 600")
    promised: date = made_on + relativedelta(months=months)
    if ingredient_best_befores:
        lot = min(ingredient_best_befores, key=lambda one: (ingredient_best_befores[one], one))
        earliest = ingredient_best_befores[lot]
        if earliest < promised:
            return earliest, f"ingredient lot {lot} is best before {earliest.isoformat()}"
    return promised, f"{months} months after pour"
