"""What a shop's own lye solutions teach. The records are invented."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from soapstock.chemistry.heat import lye_peak
from soapstock.chemistry.heat_records import (
    CoolingRecord,
    PeakRecord,
    learn_cooling_per_minute,
    learn_losses,
    minutes_until_c,
)


def test_without_records_nothing_is_claimed() -> None:
    """No published curve was found."""
    assert learn_losses([]) is None
    assert learn_cooling_per_minute([]) is None


def test_recorded_peaks_teach_the_loss() -> None:
    """Two peaks at 80 and 90 % of the loss-free rise."""
    free = lye_peak(naoh_g=100, water_g=200, start_c=20)
    assert free is not None
    rise = free.peak_c - 20
    records = [
        PeakRecord(naoh_g=100, water_g=200, start_c=20, peak_c=20 + share * rise)
        for share in (0.8, 0.9)
    ]
    found = learn_losses(records)
    assert found is not None
    assert found.count == 2
    assert found.share.nominal == pytest.approx(0.85)
    expected = 20 + 0.85 * rise
    assert found.peak_c(start_c=20, loss_free_peak_c=free.peak_c) == pytest.approx(expected)


@given(share=st.floats(0.2, 1.2), count=st.integers(1, 20))
def test_the_same_peak_again_and_again_teaches_one_share(share: float, count: int) -> None:
    """Rounding never puts the mean outside what was seen."""
    free = lye_peak(naoh_g=100, water_g=200, start_c=20)
    assert free is not None
    peak = 20 + share * (free.peak_c - 20)
    record = PeakRecord(naoh_g=100, water_g=200, start_c=20, peak_c=peak)
    found = learn_losses([record] * count)
    assert found is not None
    assert found.share.nominal == pytest.approx(share)


def test_readings_that_say_nothing_are_left_out() -> None:
    """A peak at the start, or a lye outside the table."""
    nothing = [
        PeakRecord(naoh_g=100, water_g=200, start_c=20, peak_c=20),
        PeakRecord(naoh_g=100, water_g=50, start_c=20, peak_c=90),
    ]
    assert learn_losses(nothing) is None


def test_cooling_follows_newtons_law() -> None:
    """Half the way to the room in 30 minutes, half again in the next 30."""
    learnt = learn_cooling_per_minute([CoolingRecord(minutes=30, from_c=100, to_c=60, room_c=20)])
    assert learnt is not None
    rate, count = learnt
    assert (rate, count) == (pytest.approx(math.log(2) / 30), 1)
    assert minutes_until_c(40, from_c=100, room_c=20, rate_per_minute=rate) == pytest.approx(60)


def test_a_warm_room_never_cools_the_lye_to_38() -> None:
    """No answer is better than a wrong one."""
    assert minutes_until_c(38, from_c=100, room_c=40, rate_per_minute=0.02) is None
    assert minutes_until_c(38, from_c=30, room_c=20, rate_per_minute=0.02) == 0.0
