"""What looks odd, and what to look at."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from soapstock.cure.model import BatchStart, Forecast, WeighIn, forecast

Weighed = Callable[[Sequence[tuple[float, float]]], Forecast]


def rules(known: Forecast) -> set[str]:
    """The short names of its alarms."""
    return {problem.rule for problem in known.alarms}


def test_a_damp_rack_is_named(weighed: Weighed) -> None:
    """A batch that has lost 2 % in two weeks dries too slowly."""
    known = weighed([(7.0, 129.0), (14.0, 127.5)])
    assert rules(known) == {"damp"}
    assert "look at the room" in known.alarms[0].message


def test_a_hot_rack_is_noted(weighed: Weighed) -> None:
    """A batch that has lost 14 % in a week dries fast; that is a note."""
    known = weighed([(4.0, 113.0), (7.0, 111.0)])
    assert "fast" in rules(known)


def test_a_gain_is_named(weighed: Weighed) -> None:
    """A rise of a gram a bar that lasts two readings is damp air or other bars."""
    known = weighed([(7.0, 123.0), (14.0, 119.5), (21.0, 118.0), (28.0, 119.0), (35.0, 119.1)])
    assert "gained" in rules(known)


def test_below_bone_dry_is_an_error(weighed: Weighed) -> None:
    """A bar of 104 g dry matter cannot weigh 98 g."""
    known = weighed([(7.0, 98.0)])
    assert any(p.severity == "error" and "bone-dry" in p.message for p in known.alarms)


def test_too_much_start_water_is_named() -> None:
    """Half water is more than any bar recipe brings."""
    known = forecast(BatchStart(mass_per_bar_g=130, day=1, water_fraction=0.5), [])
    assert "start" in rules(known)


def test_a_bar_drier_than_its_end_moisture_is_noted() -> None:
    """6 % start water, below the usual end moisture, may gain."""
    known = forecast(BatchStart(mass_per_bar_g=130, day=1, water_fraction=0.06), [])
    assert "may gain" in known.alarms[0].message


def test_a_single_sound_reading_raises_nothing(start: BatchStart) -> None:
    """An ordinary first week is quiet."""
    known = forecast(start, [WeighIn(day=7, mass_g=1235, bars=10)])
    assert known.alarms == ()


def test_a_bar_heavier_than_its_batter_is_an_error() -> None:
    """140 g at unmoulding from 130 g of batter a bar cannot be."""
    heavy = BatchStart(mass_per_bar_g=140, day=1, water_fraction=0.2, poured_per_bar_g=130)
    light = BatchStart(mass_per_bar_g=129, day=1, water_fraction=0.2, poured_per_bar_g=130)
    assert any("poured for each" in p.message for p in forecast(heavy, []).alarms)
    assert forecast(light, []).alarms == ()


def test_more_water_than_entered_is_named(weighed: Weighed) -> None:
    """A bar said to hold 20 % water that settles at 19 % loss held more than that."""
    readings = [
        (7.0, 116.0),
        (14.0, 110.5),
        (21.0, 108.0),
        (28.0, 107.0),
        (42.0, 106.4),
        (56.0, 106.2),
        (70.0, 106.2),
    ]
    known = weighed(readings)
    assert any(p.rule == "water" and "more water" in p.message for p in known.alarms)
