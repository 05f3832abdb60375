"""The forecast of a batch."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from soapstock.cure.many import HORIZON_DAYS
from soapstock.cure.model import (
    BatchStart,
    Forecast,
    Prior,
    WeighIn,
    forecast,
    forecasts,
)
from soapstock.recipes.bars import Brick, Cup, Cylinder

Weighed = Callable[[Sequence[tuple[float, float]]], Forecast]
FOUR = [(7.0, 124.0), (14.0, 120.5), (21.0, 118.5), (28.0, 117.5)]
DAYS = np.concatenate([[0.0, 1.5], np.geomspace(1.54, 732.0, 60)])


def test_the_start_mass_is_the_mass_on_the_first_day(weighed: Weighed) -> None:
    """On the day of unmoulding, and before it, a bar weighs what it weighed then."""
    assert weighed([]).mass_at(0.0).nominal == pytest.approx(130.0, abs=0.2)
    assert weighed([]).mass_at(1.5).nominal == pytest.approx(130.0, abs=0.2)


def test_the_expected_mass_falls_and_never_below_bone_dry(weighed: Weighed) -> None:
    """Median mass falls from hour one to two years; even the low points stay above bone-dry."""
    points = weighed([]).mass_points(DAYS)
    assert np.diff(points[:, 1]).max() < 1e-6
    assert points.min() >= 130.0 * 0.8 - 1e-9
    assert (np.diff(points, axis=1) >= 0).all()


def test_a_weigh_in_narrows_the_forecast(weighed: Weighed) -> None:
    """Each further reading on the curve leaves the day-60 band narrower."""
    widths = [
        (band := weighed(FOUR[:k]).mass_at(60.0)).high - band.low for k in range(len(FOUR) + 1)
    ]
    assert widths == sorted(widths, reverse=True)
    assert widths[-1] < widths[0] / 3


def test_the_forecast_passes_through_its_readings(weighed: Weighed) -> None:
    """After four readings the curve is within half a gram of each."""
    known = weighed(FOUR)
    for day, mass in FOUR:
        assert known.mass_at(day).nominal == pytest.approx(mass, abs=0.5)


def test_one_bad_reading_hardly_moves_the_forecast_and_is_named(weighed: Weighed) -> None:
    """A reading 8 g off is set aside by name; the date moves by less than two days."""
    bad = [*FOUR[:2], (21.0, 126.5), FOUR[3]]
    with_it, without = weighed(bad), weighed([*FOUR[:2], FOUR[3]])
    assert with_it.odd_readings() == (2,)
    assert any(p.rule == "odd reading" and "126.5 g" in p.message for p in with_it.alarms)
    assert abs(with_it.dry_day().expected - without.dry_day().expected) < 2.0


def test_good_readings_are_not_called_odd(weighed: Weighed) -> None:
    """Readings on a smooth curve raise no alarm."""
    assert weighed(FOUR).alarms == ()


def test_losses_waters_and_masses_agree(weighed: Weighed) -> None:
    """Loss, water and mass of one day are readings of the same figure."""
    known = weighed(FOUR)
    mass = known.mass_at(40.0)
    assert known.loss_percent_at(40.0).nominal == pytest.approx(100 * (1 - mass.nominal / 130.0))
    assert known.water_fraction_at(40.0).nominal == pytest.approx(1 - 104.0 / mass.nominal)
    assert known.water_fraction_at(40.0).low == pytest.approx(1 - 104.0 / mass.low)


def test_the_final_mass_is_near_the_dry_matter_over_the_end_moisture(weighed: Weighed) -> None:
    """20 % water down to 10 % leaves 80/90 of the mass, within a percent."""
    assert weighed([]).final_mass().nominal == pytest.approx(130.0 * 0.8 / 0.9, rel=0.01)


def test_the_dry_day_is_where_the_chance_passes_half(weighed: Weighed) -> None:
    """dry_day, chance_dry and week_loss_percent tell one story."""
    known = weighed(FOUR)
    dry = known.dry_day()
    assert dry.early < dry.expected < dry.late
    assert known.chance_dry(dry.expected) == pytest.approx(
        0.5, abs=0.06
    )  # the grid of ln D is that coarse
    assert known.chance_dry(dry.late) == pytest.approx(0.95, abs=0.03)
    assert known.week_loss_percent(dry.expected).nominal == pytest.approx(1.0, abs=0.1)


def test_a_stricter_limit_is_met_later(weighed: Weighed) -> None:
    """0.5 % a week comes after 1 % a week."""
    assert weighed(FOUR).dry_day(0.5).expected > weighed(FOUR).dry_day(1.0).expected


def test_a_limit_never_met_gives_two_years(weighed: Weighed) -> None:
    """A limit below any drying is given as the horizon, not as a wrong date."""
    assert weighed([]).dry_day(-50.0).expected == pytest.approx(1.5 + HORIZON_DAYS)


def test_a_promised_weight_is_sure_below_bone_dry_and_hopeless_above_the_start(
    weighed: Weighed,
) -> None:
    """The chance runs from 1 at the dry mass to 0 above the start mass, falling between."""
    known = weighed(FOUR)
    chances = [known.chance_mean_at_least(g, 60.0) for g in (104.0, 112.0, 116.0, 120.0, 135.0)]
    assert chances[0] == 1.0
    assert chances[-1] == pytest.approx(0.0, abs=1e-6)
    assert chances == sorted(chances, reverse=True)


def test_readings_before_the_start_are_left_out(weighed: Weighed) -> None:
    """A weigh-in dated before unmoulding does not enter."""
    assert weighed([(0.5, 131.0), *FOUR]).weigh_ins == weighed(FOUR).weigh_ins


def test_readings_may_come_in_any_order(weighed: Weighed) -> None:
    """The order of entry does not matter."""
    assert weighed(FOUR[::-1]).dry_day() == weighed(FOUR).dry_day()


def test_many_batches_at_once_give_what_each_gives_alone(start: BatchStart) -> None:
    """The forecasts of mixed shapes, readings and priors equals forecast one by one."""
    tight = Prior(
        ln_d_mean=-24.5,
        ln_d_sd=0.2,
        end_percent_mean=11.0,
        end_percent_sd=1.5,
        surprise_share=0.1,
        batches=9,
    )
    tapered = Cup(top_diameter_mm=70, bottom_diameter_mm=55, height_mm=30)
    cup = BatchStart(mass_per_bar_g=95.0, day=1.0, water_fraction=0.17, faces="five", shape=tapered)
    disc = BatchStart(
        mass_per_bar_g=120.0,
        day=2.0,
        water_fraction=0.24,
        shape=Cylinder(diameter_mm=72, height_mm=28),
    )
    readings = [WeighIn(day=d, mass_g=10 * g, bars=10) for d, g in FOUR]
    many = [
        (start, readings, tight),
        (cup, (), tight),
        (disc, readings[:0], tight),
        (start, readings[:2], tight),
        (start, readings, tight),
    ]
    for together, (one, weigh_ins, prior) in zip(forecasts(many), many, strict=True):
        alone = forecast(one, weigh_ins, prior=prior)
        assert together.mass_points(DAYS) == pytest.approx(alone.mass_points(DAYS))
        assert together.dry_day() == alone.dry_day()


def test_a_bar_without_a_size_has_a_wider_forecast(start: BatchStart) -> None:
    """Not knowing the shape widens the band, and does not fail."""
    plain = BatchStart(mass_per_bar_g=130.0, day=1.5, water_fraction=0.2, bars=10)
    sized, unsized = forecast(start, []).mass_at(10.0), forecast(plain, []).mass_at(10.0)
    assert unsized.high - unsized.low > sized.high - sized.low


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    mass=st.floats(5.0, 2000.0),
    water=st.floats(0.0, 0.6),
    readings=st.lists(st.tuples(st.floats(0.0, 800.0), st.floats(0.3, 1.5)), max_size=6),
    step=st.sampled_from([0.01, 1.0, 5.0]),
)
def test_any_history_gives_finite_ordered_answers(
    mass: float, water: float, readings: list[tuple[float, float]], step: float
) -> None:
    """However odd the readings, answers are finite, in order and above bone-dry."""
    start = BatchStart(mass_per_bar_g=mass, day=1.0, water_fraction=water, scale_step_g=step)
    known = forecast(
        start, [WeighIn(day=day, mass_g=mass * share, bars=1) for day, share in readings]
    )
    band, dry = known.mass_at(50.0), known.dry_day()
    assert mass * (1 - water) - 1e-6 <= band.low <= band.high < 10 * mass
    assert 1.0 <= dry.early <= dry.expected <= dry.late <= 1.0 + HORIZON_DAYS
    assert 0.0 <= known.chance_mean_at_least(0.9 * mass, 50.0) <= 1.0


@settings(max_examples=25, deadline=None)
@given(
    sides=st.tuples(st.floats(30, 120), st.floats(30, 90), st.floats(15, 60)),
    water=st.floats(0.17, 0.35),
)
def test_any_wet_bar_is_expected_to_lose_steadily_and_within_its_water(
    sides: tuple[float, float, float], water: float
) -> None:
    """From hour one to two years the expected loss rises, and stays under the water."""
    length, width, height = sides
    shape = Brick(length_mm=length, width_mm=width, height_mm=height)
    start = BatchStart(mass_per_bar_g=shape.volume_ml, day=1.0, water_fraction=water, shape=shape)
    days = 1.0 + np.geomspace(1 / 24, 730.0, 30)
    lost = 1.0 - forecast(start, []).mass_points(days)[:, 1] / start.mass_per_bar_g
    assert np.diff(lost).min() > -1e-6
    assert 0.0 <= lost[0]
    assert lost[-1] < water
