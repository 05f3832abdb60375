"""The points of a cure chart: the curve with its band, the readings, for any face to draw."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from soapstock.cure.model import Forecast


@dataclass(frozen=True, slots=True, kw_only=True)
class CurvePoint:
    """Mass of a bar on a day after pour: 5, 50 and 95 % points, g."""

    day: float
    low_g: float
    mass_g: float
    high_g: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingPoint:
    """A weighing, the start's included: day after pour and g a bar.

    Attributes:
        odd: the model set it aside.
        reckoned: nobody weighed it; it follows from the masses that went into the pot.
    """

    day: float
    mass_g: float
    odd: bool
    reckoned: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class CureChart:
    """What a cure chart shows.

    Attributes:
        curve: points of the forecast, in order of day.
        readings: the start mass, then the weigh-ins.
        dry_mass_g: bone-dry floor of a bar, g.
    """

    curve: tuple[CurvePoint, ...]
    readings: tuple[ReadingPoint, ...]
    dry_mass_g: float


def chart_points(
    forecast: Forecast, until_day: float, count: int = 61, *, start_reckoned: bool = False
) -> CureChart:
    """Points from the start of drying to a day after pour.

    Args:
        forecast: of the batch.
        until_day: last day; the last reading or a day past the start, whichever is later, at least.
        count: number of points, at least 2.
        start_reckoned: nobody weighed the bars out of the mould.
    """
    start = forecast.start
    last = max([until_day, start.day + 1.0, *(w.day for w in forecast.weigh_ins)])
    # Denser where the curve is steep.
    days = start.day + (last - start.day) * np.linspace(0.0, 1.0, max(count, 2)) ** 2
    points = np.maximum.accumulate(forecast.mass_points(days), axis=1)  # in order to the last bit
    odd = forecast.odd_readings()
    return CureChart(
        curve=tuple(
            CurvePoint(day=day, low_g=low, mass_g=mid, high_g=high)
            for day, (low, mid, high) in zip(days.tolist(), points.tolist(), strict=True)
        ),
        readings=(
            ReadingPoint(
                day=start.day, mass_g=start.mass_per_bar_g, odd=False, reckoned=start_reckoned
            ),
            *(
                ReadingPoint(day=w.day, mass_g=w.per_bar_g, odd=k in odd)
                for k, w in enumerate(forecast.weigh_ins)
            ),
        ),
        dry_mass_g=start.dry_mass_g,
    )
