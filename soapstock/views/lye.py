"""A lye solution before it is mixed: strength, volume, heat, and what recorded peaks teach."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from soapstock.chemistry import heat
from soapstock.chemistry.cautions import lye_cautions
from soapstock.chemistry.heat_records import (
    CoolingRecord,
    PeakRecord,
    learn_cooling_per_minute,
    learn_losses,
    minutes_until_c,
)
from soapstock.desk.finding import parsed_recipe
from soapstock.errors import BadInput, Mend
from soapstock.recipes.solution import ready_solution
from soapstock.units import grams

if TYPE_CHECKING:
    from soapstock.chemistry.heat_records import LossFactor
    from soapstock.desk.desk import Desk


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


def lye_record(
    mix: Mix, losses: LossFactor | None, cooling: tuple[float, int] | None = None
) -> dict[str, Any]:
    """All that is known of a lye solution, with the cautions.

    Raises:
        BadInput: no lye, no water, or a temperature that cannot be.
    """
    naoh, koh = float(mix.naoh_g), float(mix.koh_g)
    water, ice = float(mix.water_g), float(mix.ice_g)
    if naoh + koh <= 0.0 or water + ice <= 0.0:
        raise BadInput("a lye needs lye and water", mend=Mend("give_lye"))
    liquid = water + ice
    share = 100.0 * (naoh + koh) / (naoh + koh + liquid)
    start = heat.start_with_ice_c(water_g=water, ice_g=ice, water_c=mix.start_c)
    too_icy = ice > 0.0 and start < heat.least_start_c()
    peak = None
    if not too_icy:
        peak = heat.lye_peak(
            naoh_g=naoh,
            koh_g=koh,
            water_g=liquid,
            start_c=start,
            ready_percent=mix.ready_percent,
        )
    density = None if koh else heat.density_g_ml(share)
    problem = None if koh else heat.solution_problem(share)
    record: dict[str, Any] = {
        "concentration_percent": share,
        "water_to_lye": liquid / (naoh + koh),
        "mass_g": naoh + koh + liquid,
        "volume_ml": None if density is None else (naoh + koh + liquid) / density,
        "start_c": start,
        "peak_c": peak.peak_c if peak else None,
        "boiling_c": None if koh else heat.boiling_c(share),
        "crystals_below_c": None if koh else heat.freezing_c(share),
        "expected_peak_c": None,
        "peaks_recorded": losses.count if losses else 0,
        "warnings": [*(peak.warnings if peak else ()), *([problem] if problem else [])],
    }
    if too_icy:
        record["warnings"].append("so much ice that no table covers the peak; some stays unmelted")
    if peak and losses:
        record["expected_peak_c"] = losses.peak_c(start_c=start, loss_free_peak_c=peak.peak_c)
    record |= {"minutes_to_38_c": None, "coolings_recorded": cooling[1] if cooling else 0}
    hottest = record["expected_peak_c"] or record["peak_c"]
    if cooling and hottest is not None:
        record["minutes_to_38_c"] = minutes_until_c(
            USUAL_POUR_C, from_c=hottest, room_c=start, rate_per_minute=cooling[0]
        )
    if mix.ready_percent is not None:
        ready = ready_solution(naoh_g=naoh, water_g=liquid, percent=mix.ready_percent)
        record |= {"ready_solution_g": ready.solution_g, "more_water_g": ready.water_g}
        record["warnings"] += ready.warnings
    record["cautions"] = list(lye_cautions(record["peak_c"]))
    return record


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
