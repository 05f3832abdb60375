"""What is believed of a bar's drying before its own weigh-ins speak."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from functools import cache
from typing import Any

from soapstock.errors import BadInput
from soapstock.recipes.bars import BarShape, Brick
from soapstock.tables import read_toml

TABLE = "cure/drying.toml"


@cache
def table(name: str) -> dict[str, Any]:
    """One table of tables/cure/drying.toml, numbers as float."""
    rows = read_toml(TABLE)[name]
    return {key: _as_floats(value) for key, value in rows.items() if key != "as_of"}


def _as_floats(value: Any) -> Any:
    if isinstance(value, list):
        return [float(each) for each in value]
    return value if isinstance(value, str) else float(value)


@dataclass(frozen=True, slots=True, kw_only=True)
class Prior:
    """Belief about drying rate and end moisture of a batch before it is weighed.

    Attributes:
        ln_d_mean: mean of ln D, D in m2/s.
        ln_d_sd: standard deviation of ln D.
        end_percent_mean: end moisture, percent of the bar's then mass.
        end_percent_sd: its standard deviation, percentage points.
        surprise_share: chance that a batch is unlike the others; then ln D spreads by surprise_sd.
        surprise_sd: see there.
        skin_chance: chance that the batch dries as skin and core (cure/curves.py).
        basis: where the belief comes from, in words.
        batches: finished batches of the shop behind it.
    """

    ln_d_mean: float
    ln_d_sd: float
    end_percent_mean: float
    end_percent_sd: float
    surprise_share: float = 0.0
    surprise_sd: float = 1.0
    skin_chance: float = field(default_factory=lambda: float(table("curve")["skin_chance"]))
    basis: str = "our own weak figures: too few finished batches before it"
    batches: int = 0

    def __post_init__(self) -> None:
        if not (self.ln_d_sd > 0 and self.end_percent_sd > 0 and self.surprise_sd > 0):
            raise BadInput("a prior needs standard deviations above zero")
        shares = (self.end_percent_mean / 100.0, self.surprise_share, self.skin_chance)
        if not all(0.0 <= share < 1.0 for share in shares):
            raise BadInput("a prior's end moisture or one of its chances is out of range")


def weak_prior() -> Prior:
    """The documented weak prior: D about 3.5e-11 m2/s (sd of ln D 0.5), end moisture 10 ± 3 %."""
    row = table("prior")
    return Prior(
        ln_d_mean=math.log(row["diffusivity_m2_per_s"]),
        ln_d_sd=row["ln_diffusivity_sd"],
        end_percent_mean=row["end_moisture_percent"],
        end_percent_sd=row["end_moisture_sd_percent"],
    )


WEAK_PRIOR = weak_prior()


def default_shape(mass_g: float) -> BarShape:
    """A brick of usual proportions and the given mass, for a recipe that states no bar size."""
    row = table("default_bar")
    usual_ml = row["length_mm"] * row["width_mm"] * row["height_mm"] / 1000.0
    scale = (mass_g / row["density_g_per_ml"] / usual_ml) ** (1.0 / 3.0)
    return Brick(
        length_mm=row["length_mm"] * scale,
        width_mm=row["width_mm"] * scale,
        height_mm=row["height_mm"] * scale,
    )
