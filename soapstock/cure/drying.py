"""How fast water leaves a bar: Fick's law for a brick and a short cylinder.

Symbols and units: D diffusivity, m2/s; t time, s; l half the thickness between two drying faces, or
the whole thickness when only one of the two dries (a sealed face is a mirror), m; r radius, m; R
the share of the water to be lost that is still in the bar, 1 at the start, 0 at the end.

The surface is at the end moisture from the start, D is constant, the water starts out even. Then

- between plane faces, with T = D t / l^2: R = sum over odd n of 8/(n pi)^2 exp(-(n pi)^2 T/4);
- in a long round bar, with T = D t / r^2: R = sum over zeros a of J0 of 4 / a^2 exp(-a^2 T);
- in a brick or a short cylinder: the product of R over its directions (Newman's rule).

Both series need many terms only at small T, where the exact short-time laws stand in: for the slab
R = 1 - 2 sqrt(T/pi), for the round bar R = 1 - 4 sqrt(T/pi) + T + (T sqrt(T/pi))/3. So the work is
a fixed number of terms whatever the time. A cup (truncated cone) is taken as the cylinder of the
same height and volume.

Source: the forms of J. Crank, The Mathematics of Diffusion, 2nd ed. 1975, chapters 4 and 5 (from
memory), checked against a printed consolidation table, finite differences and scipy's Bessel zeros
in tests/published. Valid while the bar neither swells nor cracks and its skin does not harden; for
bars that do otherwise there is a second family in cure/curves.py.
"""

from __future__ import annotations

import math
from functools import cache, lru_cache
from typing import Literal, TypeVar

import numpy as np
from numpy.typing import NDArray

from soapstock.recipes.bars import BarShape, Brick, Cup, Cylinder

Floats = NDArray[np.float64]
Real = TypeVar("Real", np.float32, np.float64)
Faces = Literal["six", "five"]

M_PER_MM = 0.001
SECONDS_PER_DAY = 86400.0
# The switch points leave both forms right to 1e-5 or better (checked by test).
_SLAB_SWITCH = 0.05
_SLAB_TERMS = 7
_DISC_SWITCH = 0.005
# First zeros of the Bessel function J0 (checked against scipy by test).
_J0_ZEROS = np.array(
    [
        2.4048255576957724,
        5.520078110286311,
        8.653727912911013,
        11.791534439014281,
        14.930917708487787,
        18.071063967910924,
        21.21163662987926,
        24.352471530749302,
        27.493479132040253,
        30.634606468431976,
        33.77582021357357,
        36.917098353664045,
        40.05842576462824,
        43.19979171317673,
        46.341188371661815,
        49.482609897397815,
    ]
)

DISC_RATE = float(_J0_ZEROS[0] ** 2)  # late in drying a long round bar's R falls as exp(-this T)

# A drying curve is kept as a table of R over ln(D t), D t in m2, evenly spaced.
LN_DT_FIRST = math.log(1e-11)
LN_DT_STEP = 0.04
LN_DT_COUNT = 541
# The same for T over all bars from half a millimetre to two metres.
_LN_T_FIRST = LN_DT_FIRST - 2.0 * math.log(2.1)
_LN_T_COUNT = LN_DT_COUNT + 460


def slab_remaining(fourier: Floats) -> Floats:
    """Share of the water still to be lost from a slab, at T = D t / l^2 (any shape, T >= 0)."""
    t = np.asarray(fourier, dtype=np.float64)
    odd = 2.0 * np.arange(_SLAB_TERMS) + 1.0
    late = np.maximum(t, _SLAB_SWITCH)[..., None]
    series = (8.0 / (math.pi * odd) ** 2 * np.exp(-((math.pi * odd) ** 2) * late / 4.0)).sum(-1)
    early = 1.0 - 2.0 * np.sqrt(np.maximum(t, 0.0) / math.pi)
    result: Floats = np.where(t < _SLAB_SWITCH, early, series)
    return result


def disc_remaining(fourier: Floats) -> Floats:
    """Share of the water still to be lost from a long round bar, at T = D t / r^2 (T >= 0)."""
    t = np.asarray(fourier, dtype=np.float64)
    late = np.maximum(t, _DISC_SWITCH)[..., None]
    series = (4.0 / _J0_ZEROS**2 * np.exp(-(_J0_ZEROS**2) * late)).sum(-1)
    small = np.maximum(t, 0.0)
    root = np.sqrt(small / math.pi)
    early = 1.0 - 4.0 * root + small + small * root / 3.0
    result: Floats = np.where(t < _DISC_SWITCH, early, series)
    return result


def as_cylinder(cup: Cup) -> Cylinder:
    """The cylinder of a cup's height and volume, which stands in for it."""
    top, bottom = cup.top_diameter_mm, cup.bottom_diameter_mm
    diameter = math.sqrt((top**2 + top * bottom + bottom**2) / 3.0)
    return Cylinder(diameter_mm=diameter, height_mm=cup.height_mm)


def slab_lengths_m(shape: BarShape, faces: Faces = "six") -> tuple[float, ...]:
    """The length l of each plane direction of a bar, m; a round bar's radius is not among them.

    Args:
        shape: the bar.
        faces: `six` for bars on an open rack or turned daily, `five` for bars on a board, whose
            underside (length by width, or the round end) does not dry.
    """
    upright = 1.0 if faces == "five" else 0.5
    sides = [shape.height_mm * upright]
    if isinstance(shape, Brick):
        sides += [shape.length_mm * 0.5, shape.width_mm * 0.5]
    return tuple(side * M_PER_MM for side in sides)


def remaining(shape: BarShape, dt_m2: Floats, faces: Faces = "six") -> Floats:
    """Share of the water to be lost that is still in the bar, by D t in m2 (any array shape)."""
    dt = np.asarray(dt_m2, dtype=np.float64)
    share = np.ones_like(dt)
    for length in slab_lengths_m(shape, faces):
        share = share * slab_remaining(dt / length**2)
    if isinstance(shape, Brick):
        return share
    cylinder = as_cylinder(shape) if isinstance(shape, Cup) else shape
    radius = cylinder.diameter_mm / 2.0 * M_PER_MM
    return share * disc_remaining(dt / radius**2)


@cache
def _unit_tables() -> tuple[Floats, Floats]:
    """Slab and round bar over an even grid of ln T, for the shifting in curve_table."""
    ln_t = _LN_T_FIRST + LN_DT_STEP * np.arange(_LN_T_COUNT)
    return slab_remaining(np.exp(ln_t)), disc_remaining(np.exp(ln_t))


def _shifted(unit: Floats, length_m: float) -> Floats:
    """A unit table read at T = D t / length^2 over the grid of ln(D t): a shift along the grid."""
    place = (LN_DT_FIRST - 2.0 * math.log(length_m) - _LN_T_FIRST) / LN_DT_STEP
    left = int(place)
    low, high = (unit[left + i : left + i + LN_DT_COUNT] for i in (0, 1))
    shifted: Floats = low + (place - left) * (high - low)
    return shifted


@lru_cache(maxsize=512)
def curve_table(shape: BarShape, faces: Faces = "six") -> Floats:
    """R of one bar over the even grid of ln(D t), right to 1e-4; read-only."""
    slab, disc = _unit_tables()
    curve = np.ones(LN_DT_COUNT)
    for length in slab_lengths_m(shape, faces):
        curve = curve * _shifted(slab, length)
    if not isinstance(shape, Brick):
        cylinder = as_cylinder(shape) if isinstance(shape, Cup) else shape
        curve = curve * _shifted(disc, cylinder.diameter_mm / 2.0 * M_PER_MM)
    curve.flags.writeable = False
    return curve


def look_up(
    tables: NDArray[Real], offset: NDArray[np.intp] | int, place: NDArray[Real]
) -> tuple[NDArray[Real], NDArray[Real]]:
    """Values of stacked tables and their slopes by ln(D t), linear between grid points.

    Args:
        tables: [tables * grid], one after another.
        offset: where each point's table begins; broadcasts against place.
        place: grid place of each point, (ln(D t) - LN_DT_FIRST) / LN_DT_STEP; outside the grid
            the end values hold. It is used up.
    """
    np.clip(place, 1.0, LN_DT_COUNT - 2.001, out=place)
    index = place.astype(np.intp)
    place -= index
    index = index + offset
    value, ahead = tables[index], tables[index + 1]
    # Slopes at the two grid points, by central differences, so that the slope has no steps.
    slope = ahead - tables[index - 1]
    bend = tables[index + 2] - value
    bend -= slope
    bend *= place
    slope += bend
    slope /= 2.0 * LN_DT_STEP
    ahead -= value
    ahead *= place
    value += ahead
    return value, slope
