"""The points of a cure chart."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from soapstock.cure.chart import chart_points
from soapstock.cure.model import Forecast

Weighed = Callable[[Sequence[tuple[float, float]]], Forecast]


def test_the_chart_runs_from_the_start_past_the_last_reading(weighed: Weighed) -> None:
    """Even when asked for less, the curve covers all readings, low below high."""
    chart = chart_points(weighed([(7.0, 124.0), (40.0, 117.0)]), until_day=20.0, count=30)
    assert (chart.curve[0].day, chart.curve[-1].day, len(chart.curve)) == (1.5, 40.0, 30)
    assert all(p.low_g <= p.mass_g <= p.high_g for p in chart.curve)
    assert [r.mass_g for r in chart.readings] == [130.0, 124.0, 117.0]
    assert chart.dry_mass_g == 104.0


def test_an_odd_reading_is_marked(weighed: Weighed) -> None:
    """The reading set aside is drawn as such."""
    chart = chart_points(weighed([(7.0, 124.0), (14.0, 120.5), (21.0, 128.0)]), until_day=60.0)
    assert [r.odd for r in chart.readings] == [False, False, False, True]
