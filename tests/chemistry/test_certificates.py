"""Certificates of lots."""

from __future__ import annotations

import pytest

from soapstock.chemistry.certificates import (
    certificate_sv,
    doubt_about,
    read_sv,
    wet_sv,
)
from soapstock.chemistry.interval import Interval
from soapstock.errors import BadInput


def test_a_certificate_keeps_its_own_tolerance() -> None:
    """195 +- 1.5."""
    assert certificate_sv(195.0, 1.5) == Interval(low=193.5, nominal=195.0, high=196.5)


def test_without_a_tolerance_the_setting_counts() -> None:
    """A measured value is still not exact."""
    found = certificate_sv(195.0)
    assert found.low < 195.0 < found.high


def test_one_percent_water_takes_one_percent_less_lye() -> None:
    """Water left in rendered fat is inert weight (stoichiometry)."""
    assert wet_sv(Interval.exact(196.0), 1.0).nominal == pytest.approx(0.99 * 196.0)


@pytest.mark.parametrize(("value", "tolerance"), [(0.195, None), (1950, None), (195, -1)])
def test_figures_no_fat_has_are_refused(value: float, tolerance: float | None) -> None:
    """Likely another unit."""
    with pytest.raises(BadInput):
        certificate_sv(value, tolerance)


@pytest.mark.parametrize("moisture", [-1.0, 100.0])
def test_impossible_moisture_is_refused(moisture: float) -> None:
    """Zero to below a hundred."""
    with pytest.raises(BadInput):
        wet_sv(Interval.exact(196.0), moisture)


@pytest.mark.parametrize("text", ["198-194", "abc", "1.96", "196±", "19600"])
def test_a_certificate_written_another_way_is_refused(text: str) -> None:
    """Nothing is guessed from it."""
    with pytest.raises(BadInput):
        read_sv(text)


@pytest.mark.parametrize(
    ("nominal", "doubted"),
    [(190 * 0.95, False), (190 * 0.949, True), (200 * 1.05, False), (200 * 1.051, True)],
)
def test_a_certificate_is_doubted_beyond_five_percent_of_the_range(
    nominal: float, doubted: bool
) -> None:
    """On either side of 190 to 200; the margin is our own setting."""
    usual = Interval(low=190.0, nominal=195.0, high=200.0)
    assert bool(doubt_about(Interval.exact(nominal), usual)) is doubted
