"""The weight curve of a batch as the points of an SVG drawing; its figures are the view's."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from soapstock.views.cure import CureView

WIDTH, HEIGHT, LEFT, BOTTOM, TOP = 340, 190, 44, 22, 8
STEPS = 40


@dataclass(frozen=True, slots=True, kw_only=True)
class Dot:
    """A weighing: where it stands, and what it says."""

    x: float
    y: float
    odd: bool
    reckoned: bool
    says: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Curve:
    """What the drawing is made of, in units of its own."""

    band: str
    middle: str
    dots: tuple[Dot, ...]
    today_x: float
    levels: tuple[tuple[float, str], ...]
    days: tuple[tuple[float, str], ...]
    width: int = WIDTH
    height: int = HEIGHT
    left: int = LEFT
    foot: int = HEIGHT - BOTTOM
    top: int = TOP


def curve_of(seen: CureView) -> Curve:
    """Where the lines and dots of a cure stand."""
    points = seen.curve_at(STEPS)
    readings = seen.chart.readings
    low = min([p[1] for p in points] + [r.mass_g for r in readings])
    high = max([p[3] for p in points] + [r.mass_g for r in readings])
    last = points[-1][0]
    x = _scale(0.0, last, LEFT, WIDTH - 6)
    y = _scale(low, high, HEIGHT - BOTTOM - 4, TOP + 4)
    upper = [f"{x(day):.1f},{y(top):.1f}" for day, _, _, top in points]
    lower = [f"{x(day):.1f},{y(bottom):.1f}" for day, bottom, _, _ in reversed(points)]
    step = 7 if last <= 70 else 28 if last <= 300 else 91
    return Curve(
        band=" ".join([*upper, *lower]),
        middle=" ".join(f"{x(day):.1f},{y(mid):.1f}" for day, _, mid, _ in points),
        dots=tuple(
            Dot(
                x=round(x(r.day), 1),
                y=round(y(r.mass_g), 1),
                odd=r.odd,
                reckoned=r.reckoned,
                says=f"{r.day:.0f}: {r.mass_g:.1f} g",
            )
            for r in readings
        ),
        today_x=round(x(min(float(seen.item.day), last)), 1),
        levels=tuple(
            (round(y(low + (high - low) * n / 3), 1), f"{low + (high - low) * n / 3:.0f}")
            for n in range(4)
        ),
        days=tuple((round(x(float(day)), 1), str(day)) for day in range(0, int(last) + 1, step)),
    )


def _scale(low: float, high: float, start: float, end: float) -> Callable[[float], float]:
    span = (high - low) or 1.0
    return lambda value: start + (value - low) / span * (end - start)
