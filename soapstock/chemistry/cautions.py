"""The cautions that stand wherever a lye weight is shown."""

from __future__ import annotations

from soapstock.tables import read_toml
from soapstock.units import fahrenheit


def lye_cautions(peak_c: float | None) -> tuple[str, ...]:
    """The usual cautions, with the expected peak of the lye solution, C, when it is known."""
    table = read_toml("chemistry/cautions.toml")
    if peak_c is None:
        heat = str(table["heat_unknown"])
    else:
        mild = peak_c < float(table["heat_mild_below_c"])
        heat = str(table["heat_mild" if mild else "heat_known"]).format(
            peak=f"{peak_c:.0f}", peak_f=f"{fahrenheit(peak_c):.0f}"
        )
    first, second, *rest = (str(line) for line in table["always"])
    return (first, second, heat, *rest)
