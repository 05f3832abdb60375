"""A lye solution before it is mixed, and what the shop's own peaks teach."""

from __future__ import annotations

from datetime import UTC, datetime
from decimal import Decimal
from pathlib import Path

import pytest

from soapstock.chemistry.heat_records import LossFactor
from soapstock.chemistry.interval import Interval
from soapstock.desk.desk import open_desk
from soapstock.errors import BadInput
from soapstock.views.lye import Learnt, Mix, losses_of, lye_row

MIX = Mix(naoh_g=Decimal(100), water_g=Decimal(200))


def test_recorded_peaks_give_an_expected_peak() -> None:
    """80 % of the loss-free rise from 20 C, learnt from three peaks."""
    losses = LossFactor(share=Interval.between(0.7, 0.9), count=3)
    record = lye_row(MIX, Learnt(losses=losses))
    assert record.peak_c is not None
    rise = record.peak_c - 20.0
    assert record.expected_peak_c == pytest.approx(20.0 + 0.8 * rise)
    assert record.peaks_recorded == 3


def test_potassium_hydroxide_is_not_guessed() -> None:
    """No table: no peak, no boiling point, no crystals; the caution says near boiling."""
    record = lye_row(Mix(naoh_g=Decimal(0), koh_g=Decimal(100), water_g=Decimal(200)), Learnt())
    assert record.peak_c is None
    assert record.boiling_c is None
    assert any("near boiling" in line for line in record.cautions)


def test_more_ice_than_melts_leaves_the_peak_unknown() -> None:
    """Half ice and half water at 10 C."""
    icy = Mix(naoh_g=Decimal(100), water_g=Decimal(80), ice_g=Decimal(120), start_c=10.0)
    record = lye_row(icy, Learnt())
    assert record.peak_c is None
    assert any("ice" in warning for warning in record.warnings)


def test_lye_that_does_not_dissolve_is_warned_of() -> None:
    """More than 52.2 % (Great Soviet Encyclopedia)."""
    record = lye_row(Mix(naoh_g=Decimal(120), water_g=Decimal(100)), Learnt())
    assert any("dissolve" in warning for warning in record.warnings)


def test_no_lye_is_refused() -> None:
    """Water alone is no lye."""
    with pytest.raises(BadInput):
        lye_row(Mix(naoh_g=Decimal(0), water_g=Decimal(200)), Learnt())


def test_a_shops_pours_teach(demo_shop: Path) -> None:
    """Every demo pour has a peak and a room temperature, and reached less than loss-free."""
    now = datetime(2026, 12, 1, tzinfo=UTC)
    with open_desk(demo_shop, today=now.date(), now=now) as desk:
        with desk.ledger.read() as reader:
            pours = len(reader.batches())
        found = losses_of(desk)
    assert found is not None
    assert found.count == pours
    assert 0.4 < found.share.nominal < 1.0


def test_cooling_is_told_only_when_the_shop_recorded_it(demo_shop: Path) -> None:
    """No record, no time; one recorded pour gives a time that fits its own cooling."""
    from soapstock.enter.pour import Conditions, pour
    from soapstock.recipes.target import make_target
    from soapstock.views.lye import Learnt, Mix, cooling_of, lye_row

    now = datetime(2026, 12, 1, tzinfo=UTC)
    with open_desk(demo_shop, today=now.date(), now=now, by="t") as desk:
        assert cooling_of(desk) is None
        pour(
            desk,
            "EBB",
            [],
            target=make_target(have="beef-tallow=300g", fat=None, bars=None, volume=None),
            as_planned=True,
            conditions=Conditions(lye_c=40, peak_c=90, room_c=18, cooled_minutes=100),
        )
        cooling = cooling_of(desk)
    assert cooling is not None
    assert cooling[1] == 1
    mix = Mix(naoh_g=Decimal(150), water_g=Decimal(300))
    assert lye_row(mix, Learnt()).minutes_to_38_c is None
    minutes = lye_row(mix, Learnt(cooling=cooling)).minutes_to_38_c
    assert minutes is not None
    assert 80 < minutes < 160
