"""What a bar is made of."""

from __future__ import annotations

from datetime import UTC, datetime
from decimal import Decimal
from pathlib import Path

import pytest

from soapstock.desk.desk import open_desk
from soapstock.errors import BadInput
from soapstock.recipes.scaling import Target
from soapstock.views.composition import CompositionRow, composition_row

TARGET = Target(total_fat_g=Decimal(2000))


def record(folder: Path, lost: float) -> CompositionRow:
    """Composition of the demo's first recipe."""
    now = datetime(2026, 12, 1, tzinfo=UTC)
    with open_desk(folder, today=now.date(), now=now) as desk:
        return composition_row(desk, "DRF", TARGET, lost)


def test_parts_add_up_to_the_bar(demo_shop: Path) -> None:
    """Fresh: all that was weighed."""
    found = record(demo_shop, 0.0)
    assert sum(row.mass_g for row in found.parts) == pytest.approx(found.total_g)
    assert sum(row.percent for row in found.parts) == pytest.approx(100.0)


def test_drying_takes_water_only(demo_shop: Path) -> None:
    """A tenth lost is a tenth less mass and less water."""
    fresh, dry = record(demo_shop, 0.0), record(demo_shop, 10.0)
    assert dry.total_g == pytest.approx(0.9 * fresh.total_g)
    assert dry.water_percent < fresh.water_percent


@pytest.mark.parametrize("lost", [-1.0, 61.0, 40.0, float("nan")])
def test_more_than_the_water_cannot_be_lost(demo_shop: Path, lost: float) -> None:
    """No bar dries below its dry matter."""
    with pytest.raises(BadInput):
        record(demo_shop, lost)
