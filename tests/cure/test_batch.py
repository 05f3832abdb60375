"""Start masses, weigh-ins and their errors."""

from __future__ import annotations

import math

import pytest

from soapstock.cure.batch import BatchStart, WeighIn, weigh_error
from soapstock.errors import BadInput


def test_scale_rounding_is_shared_by_the_bars_on_it() -> None:
    """A 1 g scale on one 125 g bar errs by 0.41 g between readings, or 0.29 g a reading."""
    start = BatchStart(mass_per_bar_g=125, day=1, water_fraction=0.2, scale_step_g=1.0, bars=1)
    handling = weigh_error(
        BatchStart(mass_per_bar_g=125, day=1, water_fraction=0.2, scale_step_g=0.0, bars=1), 1
    )
    rounding = math.sqrt(weigh_error(start, 1) ** 2 - handling**2)
    assert rounding * 125 == pytest.approx(1 / math.sqrt(12))


def test_the_same_bars_err_less_than_other_bars() -> None:
    """Weighing five of ten bars adds the difference between bars."""
    start = BatchStart(mass_per_bar_g=125, day=1, water_fraction=0.2, bars=10)
    assert weigh_error(start, 5) > 2 * weigh_error(start, 10)


def test_without_the_start_bars_the_readings_are_of_the_same() -> None:
    """Not knowing how many bars were weighed at the start adds nothing."""
    start = BatchStart(mass_per_bar_g=125, day=1, water_fraction=0.2)
    known = BatchStart(mass_per_bar_g=125, day=1, water_fraction=0.2, bars=5)
    assert weigh_error(start, 5) == weigh_error(known, 5)


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("mass_per_bar_g", 0.0),
        ("mass_per_bar_g", float("nan")),
        ("day", -1.0),
        ("water_fraction", 1.0),
        ("water_fraction", -0.1),
        ("scale_step_g", -1.0),
        ("bars", 0),
    ],
)
def test_an_impossible_start_is_refused(field: str, value: float) -> None:
    """Each impossible figure raises BadInput."""
    facts = {"mass_per_bar_g": 125.0, "day": 1.0, "water_fraction": 0.2, field: value}
    with pytest.raises(BadInput):
        BatchStart(**facts)  # type: ignore[arg-type]


@pytest.mark.parametrize(("day", "mass", "bars"), [(-1, 100, 1), (1, 0, 1), (1, 100, 0)])
def test_an_impossible_weigh_in_is_refused(day: float, mass: float, bars: int) -> None:
    """Each impossible figure raises BadInput."""
    with pytest.raises(BadInput):
        WeighIn(day=day, mass_g=mass, bars=bars)
