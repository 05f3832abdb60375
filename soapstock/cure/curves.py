"""Families of drying curves a batch may follow, and how far each may bend.

R is the share of the water to be lost that is still in the bar; x = ln(D t).

- `even`: Fick's law with one D throughout (cure/drying.py). It bends by e: steeper or flatter in
  ln t about day 14, R + e s (ln t - ln 14 d) dR/dx, with s the spread of that exponent. Uneven
  faces and a D that changes as the bar dries do this.
- `skin and core`: two first-order rates, the slow one the late rate k = L D of Fick's law for that
  bar, the fast one r times as fast: R = f exp(-r k t) + (1 - f) exp(-k t), bending by e in the fast
  share f: + e s (exp(-r k t) - exp(-k t)). Here L = sum over plane directions of (pi / 2 l)^2, and
  for a round bar (a / radius)^2 with a the first zero of J0: the exponent of the first term of the
  series. This is the two-term form of the thin-layer drying literature; a surface that holds the
  water back (no steep start) and a skin that dries before the core both come near it. r takes two
  values, between which the bend in f fills in.

In every family a share of the water leaves as a slow rest, at a fixed fraction of the late rate
L D, more or less of it by s: crusts and damp cores keep water longer than any one rate tells, and a
forecast that knew no such tail fixed the end mass too early and too high.

e and s are standard normal numbers in each family. Which family a batch follows is not known
beforehand: its readings and the shop's finished batches tell (cure/posterior.py, cure/teachers.py).
The figures stand in tables/cure/drying.toml [curve]; no measured curve of cold-process soap was
found to set them by. Valid where drying.py is, for days after the mould up to two years. Bars whose
surface holds the water back strongly come out near, but not inside, these families (see the bench).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from soapstock.cure.drying import (
    DISC_RATE,
    M_PER_MM,
    Faces,
    Real,
    as_cylinder,
    slab_lengths_m,
)
from soapstock.cure.prior import table
from soapstock.recipes.bars import BarShape, Brick, Cup

Floats = NDArray[np.float64]

TURN_DAYS = 14.0  # where steeper and flatter curves cross


@dataclass(frozen=True, slots=True)
class Skin:
    """One skin-and-core family.

    Attributes:
        ratio: how many times as fast the skin dries as the core.
        late: rate of the core, as a share of the late rate L D of Fick's law.
        share: of the water to be lost, in the skin.
        share_sd: how far that share may be off.
        chance: of this family among those of skin and core.
    """

    ratio: float
    late: float
    share: float
    share_sd: float
    chance: float


def _skins() -> tuple[Skin, ...]:
    row = table("curve")
    names = ("ratios", "late_rates", "shares", "share_sds", "chances")
    return tuple(Skin(*figures) for figures in zip(*(row[f"skin_{n}"] for n in names), strict=True))


SKINS = _skins()
FAMILIES = 1 + len(SKINS)  # even, then each skin and core


@lru_cache(maxsize=512)
def ln_late_rate(shape: BarShape, faces: Faces = "six") -> float:
    """Ln of L, 1/m2: late in its drying a bar's R falls as exp(-L D t) by Fick's law."""
    total = sum((math.pi / 2.0 / length) ** 2 for length in slab_lengths_m(shape, faces))
    if not isinstance(shape, Brick):
        cylinder = as_cylinder(shape) if isinstance(shape, Cup) else shape
        total += DISC_RATE / (cylinder.diameter_mm / 2.0 * M_PER_MM) ** 2
    return math.log(total)


def family_chances(skin_chance: float) -> Floats:
    """Prior chance of each family, by that of all skin-and-core families together."""
    return np.array([1.0 - skin_chance, *(skin_chance * skin.chance for skin in SKINS)])


def skin_and_core(
    late: NDArray[Real], ratio: Any, share: Any, share_sd: Any
) -> tuple[NDArray[Real], NDArray[Real]]:
    """R of a skin-and-core family and its change by e, at late = k t (any shape)."""
    slow, fast = np.exp(-late), np.exp(-late * ratio)
    gap = fast - slow
    return slow + share * gap, share_sd * gap


def even_bend(days: Floats) -> Floats:
    """What dR/dx is multiplied by to give the change of R by e in the even family."""
    result: Floats = table("curve")["exponent_sd"] * np.log(days / TURN_DAYS)
    return result


def add_slow_rest(share: NDArray[Real], bend: NDArray[Real], late: NDArray[Real]) -> NDArray[Real]:
    """Put the slow rest into R and its change by e, in place; the change of R by s.

    Args:
        share: R of any family without it.
        bend: its change by e.
        late: L D t of Fick's law for that bar.
    """
    row = table("curve")
    change: NDArray[Real] = np.exp(late * late.dtype.type(-row["rest_rate"]))
    change -= share
    share += late.dtype.type(row["rest_share"]) * change
    bend *= late.dtype.type(1.0 - row["rest_share"])
    change *= late.dtype.type(row["rest_share_sd"])
    return change
