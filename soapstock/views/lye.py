"""A lye solution before it is mixed: strength, volume, heat, and what recorded peaks teach."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING

from soapstock.chemistry import heat
from soapstock.chemistry.cautions import lye_cautions
from soapstock.chemistry.heat_records import (
    CoolingRecord,
    PeakRecord,
    learn_cooling_per_minute,
    learn_losses,
    minutes_until_c,
)
from soapstock.desk.desk import Desk, one_snapshot
from soapstock.desk.finding import parsed_recipe
from soapstock.errors import BadInput, Mend
from soapstock.recipes.solution import ready_solution
from soapstock.units import grams

if TYPE_CHECKING:
    from soapstock.chemistry.heat_records import LossFactor


USUAL_POUR_C = 38.0  # about 100 F; common practice, no source


@dataclass(frozen=True, slots=True, kw_only=True)
class Mix:
    """What is to be mixed: masses, g, and the temperature of water and lye, C.

    `ready_percent` is the NaOH in a ready lye, % of its mass: `naoh_g` is then the NaOH inside it,
    and `water_g` all water, that of the ready lye with it.
    """

    naoh_g: Decimal
    koh_g: Decimal = Decimal(0)
    water_g: Decimal
    ice_g: Decimal = Decimal(0)
    start_c: float = 20.0
    ready_percent: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Learnt:
    """What a shop's own pours teach of its vessels; None where they teach nothing yet.

    Attributes:
        cooling: rate of cooling, 1/min, and the count of pours behind it.
    """

    losses: LossFactor | None = None
    cooling: tuple[float, int] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class LyeRow:
    """All that is known of a lye solution, with the cautions; None where no table covers it."""

    concentration_percent: float
    water_to_lye: float
    mass_g: float
    volume_ml: float | None
    start_c: float
    peak_c: float | None
    boiling_c: float | None
    crystals_below_c: float | None
    expected_peak_c: float | None
    peaks_recorded: int
    warnings: tuple[str, ...]
    minutes_to_38_c: float | None
    coolings_recorded: int
    ready_solution_g: float | None
    more_water_g: float | None
    cautions: tuple[str, ...]


def lye_row(mix: Mix, learnt: Learnt) -> LyeRow:
    """All that is known of a lye solution, with the cautions.

    Raises:
        BadInput: no lye, no water, or a temperature that cannot be.
    """
    naoh, koh = float(mix.naoh_g), float(mix.koh_g)
    liquid = float(mix.water_g) + float(mix.ice_g)
    if naoh + koh <= 0.0 or liquid <= 0.0:
        raise BadInput("a lye needs lye and water", mend=Mend("give_lye"))
    mass = naoh + koh + liquid
    share = 100.0 * (naoh + koh) / mass
    start, peak, warnings = _peak(mix, liquid)
    density = None if koh else heat.density_g_ml(share)
    if not koh and (problem := heat.solution_problem(share)):
        warnings.append(problem)
    ready = None
    if mix.ready_percent is not None:
        ready = ready_solution(naoh_g=naoh, water_g=liquid, percent=mix.ready_percent)
        warnings += ready.warnings
    expected = None
    if peak is not None and learnt.losses:
        expected = learnt.losses.peak_c(start_c=start, loss_free_peak_c=peak)
    return LyeRow(
        concentration_percent=share,
        water_to_lye=liquid / (naoh + koh),
        mass_g=mass,
        volume_ml=None if density is None else mass / density,
        start_c=start,
        peak_c=peak,
        boiling_c=None if koh else heat.boiling_c(share),
        crystals_below_c=None if koh else heat.freezing_c(share),
        expected_peak_c=expected,
        peaks_recorded=learnt.losses.count if learnt.losses else 0,
        warnings=tuple(warnings),
        minutes_to_38_c=_minutes(peak if expected is None else expected, start, learnt),
        coolings_recorded=learnt.cooling[1] if learnt.cooling else 0,
        ready_solution_g=ready.solution_g if ready else None,
        more_water_g=ready.water_g if ready else None,
        cautions=tuple(lye_cautions(peak)),
    )


def _peak(mix: Mix, liquid_g: float) -> tuple[float, float | None, list[str]]:
    """The start with its ice counted, the loss-free peak, both C, and what to warn of."""
    ice = float(mix.ice_g)
    start = heat.start_with_ice_c(water_g=float(mix.water_g), ice_g=ice, water_c=mix.start_c)
    if ice > 0.0 and start < heat.least_start_c():
        return start, None, ["so much ice that no table covers the peak; some stays unmelted"]
    peak = heat.lye_peak(
        naoh_g=float(mix.naoh_g),
        koh_g=float(mix.koh_g),
        water_g=liquid_g,
        start_c=start,
        ready_percent=mix.ready_percent,
    )
    return (start, peak.peak_c, list(peak.warnings)) if peak else (start, None, [])


def _minutes(hottest_c: float | None, room_c: float, learnt: Learnt) -> float | None:
    """Minutes until one may pour; None before the shop has recorded a cooling."""
    if learnt.cooling is None or hottest_c is None:
        return None
    rate = learnt.cooling[0]
    return minutes_until_c(USUAL_POUR_C, from_c=hottest_c, room_c=room_c, rate_per_minute=rate)


@one_snapshot
def learnt_of(desk: Desk) -> Learnt:
    """What the shop's pours teach of heat lost and of cooling."""
    return Learnt(losses=losses_of(desk), cooling=cooling_of(desk))


def cooling_of(desk: Desk) -> tuple[float, int] | None:
    """Rate of cooling, 1/min, that this shop's pours teach, and their count; None without any.

    A pour counts with its recorded peak, lye temperature, room temperature and minutes between.
    """
    with desk.ledger.read() as reader:
        minutes = reader.cooling_minutes()
        batches = reader.batches() if minutes else []
    records = [
        CoolingRecord(
            minutes=minutes[b.entry_id],
            from_c=b.pour.peak_c,
            to_c=b.pour.lye_c,
            room_c=b.pour.room_c,
        )
        for b in batches
        if b.entry_id in minutes
        and b.pour.peak_c is not None
        and b.pour.lye_c is not None
        and b.pour.room_c is not None
    ]
    return learn_cooling_per_minute(records)


def losses_of(desk: Desk) -> LossFactor | None:
    """What the pours of this shop teach; a pour counts with a recorded peak and room temperature.

    The room's temperature stands for that of water and lye before mixing.
    """
    with desk.ledger.read() as reader:
        batches = reader.batches()
    records = []
    for batch in batches:
        pour = batch.pour
        masses = {"naoh": 0, "koh": 0, "liquid": 0}
        for use in (*pour.uses, *pour.unlotted):
            if use.role in masses:
                masses[use.role] += use.mass_mg
        if pour.peak_c is None or pour.room_c is None or masses["koh"] or not masses["naoh"]:
            continue
        ready = parsed_recipe(batch.recipe_text, f"recipe {batch.recipe_code}").lye.ready_percent
        records.append(
            PeakRecord(
                naoh_g=grams(masses["naoh"]),
                water_g=grams(masses["liquid"]),
                start_c=pour.room_c,
                peak_c=pour.peak_c,
                ready_percent=ready.nominal if ready is not None else None,
            )
        )
    return learn_losses(records)
