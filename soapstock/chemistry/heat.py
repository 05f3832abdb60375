"""Heat of the lye solution: peak temperature, boiling, freezing, density.

The peak is the adiabatic one (made at once, no heat lost): an upper bound for an open vessel.
Figures: tables/chemistry/lye_peak.csv, heat.toml, lye_density.csv; between rows, straight lines.
The range is 0 to 50 % NaOH by mass; potassium hydroxide has no table here.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from soapstock.chemistry import molar
from soapstock.errors import BadInput
from soapstock.tables import read_csv, read_toml
from soapstock.units import degrees

PEAK_COLUMNS = (
    "naoh_percent",
    "heat_kj_mol",
    "cp_mean_kj_kg_k",
    "peak_from_5_c",
    "peak_from_20_c",
    "peak_from_25_c",
)
PEAK_STARTS_C = (5.0, 20.0, 25.0)
DENSITY_COLUMNS = ("naoh_percent", "density_g_ml")


@dataclass(frozen=True, slots=True, kw_only=True)
class LyePeak:
    """What the solution may reach.

    Attributes:
        peak_c: highest temperature if no heat were lost, C.
        boiling_c: boiling point of the solution at 1 atm, C, or None outside the table.
        start_c: start temperature used, C; with ice, that of the mixture (may be below zero).
        warnings: plain sentences.
    """

    peak_c: float
    boiling_c: float | None
    start_c: float
    warnings: tuple[str, ...]


def interpolate(points: Sequence[tuple[float, float]], x: float) -> float | None:
    """Straight-line value between rising points, or None outside them."""
    for (x0, y0), (x1, y1) in pairwise(points):
        if x0 <= x <= x1:
            return y0 + (y1 - y0) * (x - x0) / (x1 - x0)
    return None


def concentration_percent(naoh_g: float, water_g: float) -> float:
    """NaOH, % of the solution's mass.

    Raises:
        BadInput: a mass is negative or both are zero.
    """
    if naoh_g < 0.0 or water_g < 0.0 or naoh_g + water_g == 0.0:
        raise BadInput("lye and water must be zero or more, and not both zero")
    return 100.0 * naoh_g / (naoh_g + water_g)


def _points(section: str) -> list[tuple[float, float]]:
    pairs = read_toml("chemistry/heat.toml")[section]["points"]
    return [(float(x), float(y)) for x, y in pairs]


def boiling_c(naoh_percent: float) -> float | None:
    """Boiling point of the solution at 1 atm, C, or None above 50 %."""
    return interpolate(_points("boiling"), naoh_percent)


def freezing_c(naoh_percent: float) -> float | None:
    """Temperature at which ice or crystals start to fall out, C (+-1), or None above 52 %."""
    return interpolate(_points("freezing"), naoh_percent)


def density_g_ml(naoh_percent: float) -> float | None:
    """Density of NaOH solution at 20 C, g/mL (CRC; 40 to 50 % interpolated), None above 50 %."""
    rows = read_csv("chemistry/lye_density.csv", DENSITY_COLUMNS)
    points = [(float(row["naoh_percent"]), float(row["density_g_ml"])) for row in rows]
    return interpolate(points, naoh_percent)


def peak_c(naoh_percent: float, start_c: float) -> float | None:
    """Adiabatic peak, C, or None outside 0 to 50 % NaOH."""
    rows = read_csv("chemistry/lye_peak.csv", PEAK_COLUMNS)
    peaks: list[float] = []
    for column in PEAK_COLUMNS[3:]:
        points = [(float(row["naoh_percent"]), float(row[column])) for row in rows]
        value = interpolate(points, naoh_percent)
        if value is None:
            return None
        peaks.append(value)
    # Peaks rise almost straight with the start temperature; the outer pair carries on the line.
    cold, mild, warm = peaks
    if start_c <= PEAK_STARTS_C[1]:
        return mild + (mild - cold) * (start_c - PEAK_STARTS_C[1]) / 15.0
    return mild + (warm - cold) * (start_c - PEAK_STARTS_C[1]) / 20.0


def dilution_peak_c(ready_percent: float, naoh_percent: float, start_c: float) -> float:
    """Adiabatic peak, C, of ready lye of one strength brought to a weaker one with water.

    Most of the heat left when the ready lye was made. What is set free now is the difference of the
    two strengths' heats of solution, over the mass and mean heat capacity of the weaker one.
    Outside the table (20 to 50 %) its nearest rows are carried on in a straight line.

    Args:
        ready_percent: NaOH in the ready lye, % by mass.
        naoh_percent: NaOH in the lye it becomes, % by mass.
        start_c: temperature of both the ready lye and the water, C.
    """
    heat_kj_mol = _carried_on("heat_kj_mol", naoh_percent) - _carried_on(
        "heat_kj_mol", ready_percent
    )
    kg_per_mol = molar.NAOH / 10.0 / naoh_percent  # g/mol over %, in kg
    rise = heat_kj_mol / kg_per_mol / _carried_on("cp_mean_kj_kg_k", naoh_percent)
    return start_c + max(rise, 0.0)


def _carried_on(column: str, naoh_percent: float) -> float:
    rows = read_csv("chemistry/lye_peak.csv", PEAK_COLUMNS)
    points = [(float(r["naoh_percent"]), float(r[column])) for r in rows if r["heat_kj_mol"]]
    inside = interpolate(points, naoh_percent)
    if inside is not None:
        return inside
    (x0, y0), (x1, y1) = points[:2] if naoh_percent < points[0][0] else points[-2:]
    return y0 + (y1 - y0) * (naoh_percent - x0) / (x1 - x0)


def start_with_ice_c(*, water_g: float, ice_g: float, water_c: float) -> float:
    """Temperature, C, of water and ice at 0 C mixed without loss; below zero means unmelted ice.

    A figure below zero counts the ice still to melt as cold, so that the peak's heat balance holds.
    """
    rules = read_toml("chemistry/heat.toml")["ice"]
    cp, fusion = float(rules["water_cp_kj_kg_k"]), float(rules["heat_of_fusion_kj_kg"])
    total = water_g + ice_g
    if total <= 0.0 or ice_g < 0.0 or water_g < 0.0:
        raise BadInput("water and ice must be zero or more, and not both zero")
    return (water_g * cp * water_c - ice_g * fusion) / (total * cp)


def least_start_c() -> float:
    """Coldest start, C, that the peak is worked out for; ice still to melt counts as cold."""
    return float(read_toml("chemistry/heat.toml")["warnings"]["start_low_c"])


def lye_peak(
    *,
    naoh_g: float,
    koh_g: float = 0.0,
    water_g: float,
    start_c: float = 20.0,
    ready_percent: float | None = None,
) -> LyePeak | None:
    """Expected peak of the solution, or None when no table covers it.

    None with any KOH (no table of its heat was found), above 50 % NaOH, or without lye. Treat a
    None as "expect near boiling".

    Args:
        naoh_g, koh_g: hydroxide, g.
        water_g: all water, that of a ready lye included, g.
        start_c: temperature of everything before mixing, C.
        ready_percent: NaOH in the ready lye that is diluted, %; None dissolves dry lye.

    Raises:
        BadInput: negative masses, or a start temperature outside the settings' range.
    """
    rules = read_toml("chemistry/heat.toml")["warnings"]
    if not float(rules["start_low_c"]) <= start_c <= float(rules["start_high_c"]):
        raise BadInput(
            f"start temperature {start_c:g} C is not {rules['start_low_c']} to "
            f"{rules['start_high_c']} C",
            hint="check C against F",
        )
    if koh_g > 0.0 or naoh_g == 0.0:
        return None
    share = concentration_percent(naoh_g, water_g)
    peak = peak_c(share, start_c)
    if peak is None:
        return None
    if ready_percent is not None:
        peak = dilution_peak_c(ready_percent, share, start_c)
    boils = boiling_c(share)
    return LyePeak(
        peak_c=peak, boiling_c=boils, start_c=start_c, warnings=_warnings(share, peak, boils)
    )


def _warnings(share: float, peak: float, boils: float | None) -> tuple[str, ...]:
    rules = read_toml("chemistry/heat.toml")["warnings"]
    found: list[str] = []
    if boils is not None and peak >= boils - float(rules["near_boiling_margin_c"]):
        found.append(
            f"may spit or boil: peak {degrees(peak)}, boiling point {degrees(boils)}; "
            "start colder, with ice, and add the lye slowly"
        )
    freezes = freezing_c(share)
    room = float(rules["room_c"])
    if freezes is not None and freezes >= room - float(rules["crystal_margin_c"]):
        found.append(
            f"crystals fall out below about {degrees(freezes)}: do not let this lye stand in the "
            "cold"
        )
    return tuple(found)


def solution_problem(naoh_percent: float) -> str | None:
    """What is wrong with a lye of this strength, in words, or None."""
    rules = read_toml("chemistry/lye.toml")["water"]
    most, least = (
        float(rules["naoh_saturation_percent"]),
        float(rules["least_concentration_percent"]),
    )
    if naoh_percent > most:
        return f"lye of {naoh_percent:.1f} % does not all dissolve at 20 C (limit {most:g} %)"
    if naoh_percent < least:
        return f"lye of {naoh_percent:.1f} % is very weak; check the water"
    return None
