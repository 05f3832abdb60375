"""Bar shapes and their volumes: a brick, a cylinder, a cup (truncated cone)."""

from __future__ import annotations

import math
from dataclasses import dataclass, fields

from soapstock.errors import BadInput

ML_PER_MM3 = 0.001
MAX_MM = 2000.0  # two metres: above it a bar's size is a slip of unit


def _check(shape: BarShape) -> None:
    for field in fields(shape):
        value = float(getattr(shape, field.name))
        if not 0.0 < value <= MAX_MM:
            name = field.name.removesuffix("_mm").replace("_", " ")
            raise BadInput(
                f"bar {name} {value:g} mm is not between 0 and {MAX_MM:g} mm",
                hint="check the unit: mm, cm or in",
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class Brick:
    """A rectangular bar, mm."""

    length_mm: float
    width_mm: float
    height_mm: float

    def __post_init__(self) -> None:
        _check(self)

    @property
    def volume_ml(self) -> float:
        """Volume, mL."""
        return self.length_mm * self.width_mm * self.height_mm * ML_PER_MM3

    def describe(self) -> str:
        """In words, such as `brick 90 x 60 x 25 mm`."""
        return f"brick {self.length_mm:g} x {self.width_mm:g} x {self.height_mm:g} mm"


@dataclass(frozen=True, slots=True, kw_only=True)
class Cylinder:
    """A round bar, mm."""

    diameter_mm: float
    height_mm: float

    def __post_init__(self) -> None:
        _check(self)

    @property
    def volume_ml(self) -> float:
        """Volume, mL."""
        return math.pi / 4.0 * self.diameter_mm**2 * self.height_mm * ML_PER_MM3

    def describe(self) -> str:
        """In words, such as `cylinder 75 mm across, 30 mm high`."""
        return f"cylinder {self.diameter_mm:g} mm across, {self.height_mm:g} mm high"


@dataclass(frozen=True, slots=True, kw_only=True)
class Cup:
    """A bar cast in a cup or a tapered round mould (truncated cone), mm."""

    top_diameter_mm: float
    bottom_diameter_mm: float
    height_mm: float

    def __post_init__(self) -> None:
        _check(self)

    @property
    def volume_ml(self) -> float:
        """Volume of the truncated cone, mL."""
        top, bottom = self.top_diameter_mm, self.bottom_diameter_mm
        return math.pi / 12.0 * self.height_mm * (top**2 + top * bottom + bottom**2) * ML_PER_MM3

    def describe(self) -> str:
        """In words, such as `cup 70 mm across the top, 60 mm the bottom, 40 mm high`."""
        return (
            f"cup {self.top_diameter_mm:g} mm across the top, "
            f"{self.bottom_diameter_mm:g} mm the bottom, {self.height_mm:g} mm high"
        )


BarShape = Brick | Cylinder | Cup
