"""Weighing lye that was dissolved ahead of time, such as a stock of 50 % solution."""

from __future__ import annotations

from dataclasses import dataclass

from soapstock.chemistry.heat import freezing_c
from soapstock.errors import BadInput
from soapstock.tables import read_toml


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadySolution:
    """How much ready solution to weigh, g, and how much water to add, g."""

    solution_g: float
    water_g: float
    warnings: tuple[str, ...]


def ready_solution(*, naoh_g: float, water_g: float, percent: float) -> ReadySolution:
    """Split a recipe's NaOH and water into ready solution and more water.

    Args:
        naoh_g: NaOH the recipe asks, as weighed dry, g.
        water_g: all water the recipe asks, g.
        percent: strength of the ready solution: dry NaOH as weighed, % of its mass.

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
            f"ready lye of {percent:g} % drops crystals below about {freezes:.0f} C; warm and stir "
            "until clear before weighing, or the lye is weaker than it says"
        )
    return ReadySolution(solution_g=solution_g, water_g=more_g, warnings=tuple(warnings))
