"""A figure that is known only between two bounds."""

from __future__ import annotations

import math
from dataclasses import dataclass

from soapstock.errors import BadInput


@dataclass(frozen=True, slots=True, kw_only=True)
class Interval:
    """A quantity between low and high, most likely nominal; all three in one unit.

    Raises:
        BadInput: unless low <= nominal <= high, all finite.
    """

    low: float
    nominal: float
    high: float

    def __post_init__(self) -> None:
        ordered = self.low <= self.nominal <= self.high
        if not ordered or self.high - self.low == float("inf"):
            raise BadInput(
                f"interval {self.low:g} to {self.high:g} with {self.nominal:g} is not in order",
                hint="give low, usual and high in rising order",
            )

    @classmethod
    def exact(cls, value: float) -> Interval:
        """An interval of no width."""
        return cls(low=value, nominal=value, high=value)

    @classmethod
    def between(cls, low: float, high: float) -> Interval:
        """Low to high with the middle as the nominal value."""
        return cls(low=low, nominal=(low + high) / 2.0, high=high)

    @property
    def shown_low(self) -> float:
        """The low end to one decimal place, rounded down: never safer than it is."""
        return math.floor(10.0 * self.low) / 10.0 + 0.0  # no minus zero

    def rounded(self, digits: int) -> Interval:
        """The three figures, each rounded to so many decimal places."""
        low, nominal, high = (round(x, digits) for x in (self.low, self.nominal, self.high))
        return Interval(low=low, nominal=nominal, high=high)

    def as_dict(self) -> dict[str, float]:
        """The three figures under their names, for JSON."""
        return {"low": self.low, "nominal": self.nominal, "high": self.high}
