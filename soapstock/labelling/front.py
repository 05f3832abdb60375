"""The bar's front panel as law measures it."""

from __future__ import annotations

from math import pi
from typing import TYPE_CHECKING

from soapstock.labelling.type_size import cylinder_panel_cm2, rectangle_panel_cm2
from soapstock.recipes.bars import Brick, Cylinder

if TYPE_CHECKING:
    from soapstock.recipes.bars import BarShape


def front_of(bar: BarShape | None) -> tuple[float | None, float | None]:
    """Front and whole surface in cm2 of a bar in a close wrap, as the law on type heights counts.

    The front of a brick is its largest side; of a round bar its top or 0.40 of its wall, whichever
    is larger (16 CFR 500.21(a); taking the larger is our own choice, on the safe side).
    """
    if bar is None:
        return None, None
    if isinstance(bar, Brick):
        short, middle, long = sorted((bar.length_mm, bar.width_mm, bar.height_mm))
        surface = 2 * (short * middle + middle * long + short * long) / 100
        return rectangle_panel_cm2(long, middle), surface
    across = bar.diameter_mm if isinstance(bar, Cylinder) else bar.top_diameter_mm
    top = pi / 4 * across**2 / 100
    wall = pi * across * bar.height_mm / 100
    return max(top, cylinder_panel_cm2(bar.height_mm, pi * across)), 2 * top + wall
