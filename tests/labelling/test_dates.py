"""Best-before dates."""

from datetime import date

import pytest

from soapstock.errors import BadInput
from soapstock.labelling.dates import best_before


def test_the_recipe_s_months_count_from_the_pour() -> None:
    """Eighteen months after 25 November 2026."""
    assert best_before(date(2026, 11, 25), 18, {})[0] == date(2028, 5, 25)


def test_a_month_s_end_stays_within_the_month() -> None:
    """Six months after 31 August is the last of February."""
    assert best_before(date(2026, 8, 31), 6, {})[0] == date(2027, 2, 28)


def test_an_ingredient_that_ends_earlier_shortens_the_date() -> None:
    """The earliest ingredient lot decides and is named."""
    day, reason = best_before(
        date(2026, 11, 25), 18, {"OLI26100AX": date(2027, 6, 1), "COC26100AX": date(2027, 9, 1)}
    )
    assert day == date(2027, 6, 1)
    assert "OLI26100AX" in reason


def test_an_ingredient_that_ends_later_changes_nothing() -> None:
    """A lot good for longer than the promise leaves it alone."""
    assert best_before(date(2026, 1, 1), 12, {"A": date(2027, 1, 2)})[0] == date(2027, 1, 1)


def test_no_promise_gives_no_date() -> None:
    """A recipe without best-before months promises none."""
    assert best_before(date(2026, 1, 1), None, {"A": date(2026, 2, 1)})[0] is None


@pytest.mark.parametrize("months", [0, -3, 601])
def test_months_out_of_range_are_refused(months: int) -> None:
    """Zero, negative and more than fifty years are slips."""
    with pytest.raises(BadInput):
        best_before(date(2026, 1, 1), months, {})
