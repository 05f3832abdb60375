"""Heat of the lye solution."""

from __future__ import annotations

import pytest

from soapstock.chemistry import heat
from soapstock.errors import BadInput


def test_koh_has_no_table() -> None:
    """Unknown is said, not guessed."""
    assert heat.lye_peak(naoh_g=0, koh_g=100, water_g=200) is None


def test_above_half_lye_there_is_no_table() -> None:
    """50 % is the last row."""
    assert heat.lye_peak(naoh_g=101, water_g=99) is None


def test_a_colder_start_gives_a_colder_peak() -> None:
    """About one degree for one degree (computed rows)."""
    warm = heat.lye_peak(naoh_g=100, water_g=200, start_c=20)
    cold = heat.lye_peak(naoh_g=100, water_g=200, start_c=5)
    assert warm is not None
    assert cold is not None
    assert 0.85 * 15 < warm.peak_c - cold.peak_c < 1.05 * 15


def test_hot_strong_lye_is_warned_of() -> None:
    """Water already hot brings 33 % lye near its boiling point."""
    peak = heat.lye_peak(naoh_g=100, water_g=200, start_c=40)
    assert peak is not None
    assert any("boil" in warning for warning in peak.warnings)


def test_lye_that_crystallises_near_room_temperature_is_warned_of() -> None:
    """39 % lye drops crystals below about 16 C."""
    peak = heat.lye_peak(naoh_g=39, water_g=61)
    assert peak is not None
    assert any("crystals" in warning for warning in peak.warnings)


def test_ice_cools_the_start() -> None:
    """Equal ice and water at 20 C: the ice does not all melt, so the figure is below zero."""
    assert heat.start_with_ice_c(water_g=100, ice_g=100, water_c=20) == pytest.approx(
        (20 * 4.18 - 333.6) / (2 * 4.18)
    )
    assert heat.start_with_ice_c(water_g=100, ice_g=0, water_c=20) == pytest.approx(20)


@pytest.mark.parametrize("start", [-21.0, 61.0, 100.0])
def test_a_senseless_start_temperature_is_refused(start: float) -> None:
    """Likely Fahrenheit for Celsius."""
    with pytest.raises(BadInput, match="start temperature"):
        heat.lye_peak(naoh_g=100, water_g=200, start_c=start)


def test_a_saturated_solution_is_named() -> None:
    """52.2 % saturates at 20 C (Great Soviet Encyclopedia)."""
    assert heat.solution_problem(52.0) is None
    assert "dissolve" in str(heat.solution_problem(52.5))
    assert "weak" in str(heat.solution_problem(10.0))


@pytest.mark.parametrize(("naoh", "water"), [(-1.0, 10.0), (1.0, -1.0), (0.0, 0.0)])
def test_impossible_solutions_are_refused(naoh: float, water: float) -> None:
    """Negative masses, or nothing at all."""
    with pytest.raises(BadInput):
        heat.concentration_percent(naoh, water)


def test_ice_and_water_must_be_something() -> None:
    """Neither ice nor water has no temperature."""
    with pytest.raises(BadInput):
        heat.start_with_ice_c(water_g=0.0, ice_g=0.0, water_c=20.0)


def test_outside_the_tables_there_is_no_figure() -> None:
    """Boiling to 50 %, crystals to 52 %, peaks to 50 %."""
    assert heat.boiling_c(51.0) is None
    assert heat.freezing_c(53.0) is None
    assert heat.density_g_ml(51.0) is None
    assert heat.peak_c(51.0, 20.0) is None


@pytest.mark.parametrize(("percent", "from_5", "from_20", "from_25"), [(45.0, 96.2, 109.9, 114.5)])
def test_the_hottest_lye_is_not_cut_off_between_rows(
    percent: float, from_5: float, from_20: float, from_25: float
) -> None:
    """45 %: computed a second time after Olsson and others 1997; 42 and 50 % gave 0.85 less."""
    for start_c, peak_c in ((5.0, from_5), (20.0, from_20), (25.0, from_25)):
        assert heat.peak_c(percent, start_c) == pytest.approx(peak_c, abs=0.05)


@pytest.mark.parametrize("percent", [22.0, 25.0, 30.0, 33.33, 40.0, 45.0, 50.0])
def test_heat_and_heat_capacity_give_the_rows_own_peak(percent: float) -> None:
    """Dissolving dry lye is diluting from nothing released: 20 C + heat / (kg/mol x capacity)."""
    from_dry = heat.dilution_peak_c(50.0, percent, 20.0)
    all_of_it = 22.37 / (0.0399968 / (percent / 100))  # what 50 % lye has given off already
    capacity = {
        22.0: 3.677,
        25.0: 3.653,
        30.0: 3.611,
        33.33: 3.575,
        40.0: 3.466,
        45.0: 3.351,
        50.0: 3.215,
    }[percent]
    assert from_dry + all_of_it / capacity == pytest.approx(heat.peak_c(percent, 20.0), abs=0.3)


def test_ready_lye_no_stronger_than_the_lye_wanted_stays_as_warm_as_it_is() -> None:
    """Nothing is diluted, nothing heats."""
    assert heat.dilution_peak_c(33.0, 33.0, 21.0) == 21.0
