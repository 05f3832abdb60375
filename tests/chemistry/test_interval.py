"""Intervals."""

from __future__ import annotations

import pytest

from soapstock.chemistry.interval import Interval
from soapstock.errors import BadInput


def test_exact_has_no_width() -> None:
    """All three figures are the same."""
    assert Interval.exact(2.5).as_dict() == {"low": 2.5, "nominal": 2.5, "high": 2.5}


def test_between_puts_the_nominal_in_the_middle() -> None:
    """The middle is the usual value of a bare range."""
    assert Interval.between(190, 202).nominal == 196


@pytest.mark.parametrize(
    "bounds", [(2, 1, 3), (1, 4, 3), (float("nan"), 1, 2), (1, 2, float("inf"))]
)
def test_disorder_is_refused(bounds: tuple[float, float, float]) -> None:
    """Low, nominal and high rise and are finite."""
    with pytest.raises(BadInput):
        Interval(low=bounds[0], nominal=bounds[1], high=bounds[2])
