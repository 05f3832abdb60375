"""`lye`: a lye solution before it is mixed."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, Annotated

import typer

from soapstock.cli.fat import shop_folder_or_none
from soapstock.cli.frame.output import emit_record, say_cautions, say_notes, table
from soapstock.cli.frame.session import AsJson, desk
from soapstock.units import degrees, parse_mass_g, parse_temperature_c

if TYPE_CHECKING:
    from soapstock.views.lye import Learnt, LyeRow


def lye(
    ctx: typer.Context,
    water: Annotated[str, typer.Option("--water", metavar="MASS", help="Water, as 300g.")],
    naoh: Annotated[str, typer.Option("--naoh", metavar="MASS", help="NaOH, as 150g.")] = "",
    koh: Annotated[str, typer.Option("--koh", metavar="MASS", help="KOH.")] = "",
    ice: Annotated[str, typer.Option("--ice", metavar="MASS", help="Ice besides the water.")] = "",
    start: Annotated[
        str, typer.Option("--start", metavar="TEMP", help="Water and lye before mixing, as 20C.")
    ] = "20C",
    ready: Annotated[
        float | None,
        typer.Option(
            "--ready", metavar="PERCENT", help="Weigh it from ready lye of so much NaOH by mass."
        ),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """The peak is for no heat lost; recorded peaks of your pours teach what your vessels lose."""
    from soapstock.views.lye import Mix, lye_row

    def grams(text: str, what: str) -> Decimal:
        return parse_mass_g(text, what) if text else Decimal(0)

    mix = Mix(
        naoh_g=grams(naoh, "--naoh"),
        koh_g=grams(koh, "--koh"),
        water_g=parse_mass_g(water, "--water"),
        ice_g=grams(ice, "--ice"),
        start_c=parse_temperature_c(start, "--start"),
        ready_percent=ready,
    )
    record = lye_row(mix, _learnt(ctx))
    if as_json:
        emit_record(record)
        return
    table("", ["Lye solution", ""], _rows(record))
    say_notes(record.warnings)
    say_cautions(record.cautions)


def _learnt(ctx: typer.Context) -> Learnt:
    """What the shop's own records teach of heat lost and of cooling; nothing without a shop."""
    from soapstock.views.lye import Learnt, learnt_of

    if shop_folder_or_none(ctx) is None:
        return Learnt()
    with desk(ctx) as opened:
        return learnt_of(opened)


def _figure(value: float | None, unit: str, unknown: str = "not known for this lye") -> str:
    return unknown if value is None else f"{value:.0f} {unit}"


def _rows(record: LyeRow) -> list[list[str]]:
    near = "not known for this lye: expect near boiling"
    rows = [
        ["Strength", f"{record.concentration_percent:.1f} %"],
        ["Water : lye", f"{record.water_to_lye:.2f}"],
        ["Mass", _figure(record.mass_g, "g")],
        ["Volume at 20 °C", _figure(record.volume_ml, "mL")],
        ["Start, ice counted", _figure(record.start_c, "°C")],
        ["Peak, no heat lost", _figure(record.peak_c, "°C", near)],
    ]
    if record.expected_peak_c is not None:
        count = record.peaks_recorded
        text = f"{degrees(record.expected_peak_c)}, learnt from {count} recorded peaks"
        rows.append(["Peak in your vessels", text])
    else:
        rows.append(["Peak in your vessels", "not known: record --peak and --room when you pour"])
    if record.minutes_to_38_c is not None:
        count = record.coolings_recorded
        text = f"{record.minutes_to_38_c:.0f} min, learnt from {count} of your pours"
        rows.append(["Down to 38 °C in about", text])
    rows += [
        ["Boils at", _figure(record.boiling_c, "°C")],
        ["Crystals below about", _figure(record.crystals_below_c, "°C")],
    ]
    if record.ready_solution_g is not None:
        rows.append(["Ready lye to weigh", _figure(record.ready_solution_g, "g")])
        rows.append(["More water", _figure(record.more_water_g, "g")])
    return rows
