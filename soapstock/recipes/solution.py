"""Weighing lye that was dissolved ahead of time: a bought 50 % solution, or a stock of one's own.

Its percent is NaOH, % of the solution's mass, as the paper of a bought lye states it. A stock made
of 500 g dry lye of 98 % and 500 g water is 49 % NaOH.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from soapstock.chemistry.heat import freezing_c
from soapstock.chemistry.interval import Interval
from soapstock.errors import BadInput
from soapstock.tables import read_toml
from soapstock.units import degrees

_READY = re.compile(r"(\d+(?:\.\d+)?)(?: to (\d+(?:\.\d+)?))? ?% naoh")
LEAST_PERCENT, MOST_PERCENT = 10.0, 52.0  # weaker is mistyped, stronger does not stay dissolved


def parse_ready_lye(text: str) -> Interval:
    """NaOH in a ready lye, %, from `50 % NaOH` or, as a paper's range, `49.5 to 50.5 % NaOH`.

    One figure is taken with the tolerance of tables/chemistry/lye.toml either way.

    Raises:
        BadInput: another form, or a strength no ready lye has.

    >>> parse_ready_lye("49.5 to 50.5 % NaOH").nominal
    50.0
    """
    found = _READY.fullmatch(" ".join(text.lower().split()))
    if found is None:
        hint = 'write "50 % NaOH", or the paper\'s range: "49.5 to 50.5 % NaOH"'
        raise BadInput(f"'{text}' is no strength of ready lye", hint=hint)
    low = float(found[1])
    high = float(found[2] or low)
    if not LEAST_PERCENT <= low <= high <= MOST_PERCENT:
        raise BadInput(f"'{text}' is not between {LEAST_PERCENT:g} and {MOST_PERCENT:g} %")
    if found[2]:
        return Interval.between(low, high)
    rules = read_toml("chemistry/lye.toml")["assay"]
    half = low * float(rules["ready_half_width_share_percent"]) / 100.0
    return Interval(low=low - half, nominal=low, high=low + half)


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadySolution:
    """How much ready solution to weigh, g, and how much water to add, g."""

    solution_g: float
    water_g: float
    warnings: tuple[str, ...]


def ready_solution(*, naoh_g: float, water_g: float, percent: float) -> ReadySolution:
    """Split a recipe's NaOH and water into ready solution and more water.

    Args:
        naoh_g: NaOH the recipe asks, inside the solution, g.
        water_g: all water the recipe asks, g.
        percent: NaOH in the ready solution, % of its mass.

    Raises:
        BadInput: a strength out of range, or a solution that holds more water than the recipe.
    """
    most = float(read_toml("chemistry/lye.toml")["water"]["naoh_saturation_percent"])
    if not 0.0 < percent <= most:
        raise BadInput(f"ready lye of {percent:g} % is not between 0 and {most:g} %")
    solution_g = naoh_g * 100.0 / percent
    more_g = water_g - (solution_g - naoh_g)
    if more_g < 0.0:
        raise BadInput(
            f"ready lye of {percent:g} % brings {-more_g:.0f} g more water than the recipe has",
            hint="use a stronger solution or a recipe with more water",
        )
    warnings: list[str] = []
    freezes = freezing_c(percent)
    rules = read_toml("chemistry/heat.toml")["warnings"]
    if freezes is not None and freezes > float(rules["room_c"]) - float(rules["crystal_margin_c"]):
        warnings.append(
            f"ready lye of {percent:g} % drops crystals below about {degrees(freezes)}; warm and "
            "stir until clear before weighing, or the lye is weaker than it says"
        )
    return ReadySolution(solution_g=solution_g, water_g=more_g, warnings=tuple(warnings))
