"""What the forecast starts from: a batch's start mass and its weigh-ins."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from soapstock.cure.drying import Faces
from soapstock.cure.prior import table
from soapstock.errors import BadInput
from soapstock.recipes.bars import BarShape

Floats = NDArray[np.float64]

MAX_BAR_G = 100_000.0
MAX_DAY = 36_500.0


def _check(name: str, value: float, low: float, high: float) -> None:
    if not low <= value <= high:  # also catches NaN
        raise BadInput(f"{name} {value:g} is not between {low:g} and {high:g}")


@dataclass(frozen=True, slots=True, kw_only=True)
class BatchStart:
    """A bar when drying in the open air begins.

    Until unmoulding the mould holds the water in; what the open top loses there is in the mass
    taken at unmoulding.

    Attributes:
        mass_per_bar_g: mean mass of a bar, g.
        day: days after pour that this mass was taken (unmoulding).
        water_fraction: water in that mass, 0 to 1, from the recipe's masses.
        shape: size of the bar; None takes a usual brick of that mass and widens the forecast.
        scale_step_g: reading step of the scale, g.
        bars: how many bars were on the scale; None if not known.
        faces: `six` on an open rack or turned daily, `five` on a board.
        poured_per_bar_g: batter poured, shared over all bars and rejects, g; None if not known.

    Raises:
        BadInput: a mass not above zero, a day before the pour, a water fraction outside 0 to 0.95.
    """

    mass_per_bar_g: float
    day: float
    water_fraction: float
    shape: BarShape | None = None
    scale_step_g: float = 1.0
    bars: int | None = None
    faces: Faces = "six"
    poured_per_bar_g: float | None = None

    def __post_init__(self) -> None:
        _check("start mass per bar (g)", self.mass_per_bar_g, 1e-3, MAX_BAR_G)
        _check("start day", self.day, 0.0, MAX_DAY)
        _check("start water fraction", self.water_fraction, 0.0, 0.95)
        _check("scale step (g)", self.scale_step_g, 0.0, MAX_BAR_G)
        if self.poured_per_bar_g is not None:
            _check("batter poured per bar (g)", self.poured_per_bar_g, 1e-3, MAX_BAR_G)
        if self.bars is not None:
            _check("bars at the start", self.bars, 1, 1e9)

    @property
    def dry_mass_g(self) -> float:
        """Bone-dry mass of a bar, g: below it no drying can go."""
        return self.mass_per_bar_g * (1.0 - self.water_fraction)


@dataclass(frozen=True, slots=True, kw_only=True)
class WeighIn:
    """Bars of one lot put on the scale together on one day.

    Attributes:
        day: days after pour.
        mass_g: mass of all counted bars, g.
        bars: how many.

    Raises:
        BadInput: no bars, no mass, or a day before the pour.
    """

    day: float
    mass_g: float
    bars: int

    def __post_init__(self) -> None:
        _check("weigh-in day", self.day, 0.0, MAX_DAY)
        _check("bars weighed", self.bars, 1, 1e9)
        _check("mass weighed (g)", self.mass_g, 1e-3, MAX_BAR_G * self.bars)

    @property
    def per_bar_g(self) -> float:
        """Mean mass of a bar, g."""
        return self.mass_g / self.bars


def weigh_error(start: BatchStart, bars: int) -> float:
    """Standard deviation of the mass per bar of so many bars weighed, as a share of the start mass.

    See reading_errors.
    """
    one = np.ones(1)
    step = start.scale_step_g / start.mass_per_bar_g
    return float(reading_errors(step * one, (start.bars or 0) * one, bars * one[:, None])[0, 0])


def reading_errors(steps: Floats, start_bars: Floats, bars: Floats) -> Floats:
    """Standard deviations [B, K] of readings, as shares of the start mass of a bar.

    Scale rounding step / sqrt(12), shared by the bars on it; handling; and, when another number of
    bars is weighed than at the start, that these are not the same bars (the smaller set taken as
    part of the larger).

    Args:
        steps: [B] step of the scale as a share of the start mass of a bar.
        start_bars: [B] bars weighed at the start; 0 where not known, and then taken for the same.
        bars: [B, K] bars weighed.
    """
    row = table("weighing")
    rounding = steps[:, None] / math.sqrt(12.0) / bars
    handling = row["handling_sd_percent"] / 100.0
    spread = row["bar_to_bar_sd_percent"] / 100.0
    known = np.where(start_bars[:, None] > 0, start_bars[:, None], bars)
    other = spread**2 * np.abs(1.0 / bars - 1.0 / known)
    errors: Floats = np.sqrt(rounding**2 + handling**2 + other)
    return errors
