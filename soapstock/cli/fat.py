"""`fat list | show`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from soapstock.cli.frame.output import emit, emit_record, say, say_notes, table
from soapstock.cli.frame.session import AsCsv, AsJson, shop_folder
from soapstock.errors import NotFound

if TYPE_CHECKING:
    from soapstock.views.fats import FatSheet, FigureRow, ProfileRow


def shop_folder_or_none(ctx: typer.Context) -> Path | None:
    """The shop's folder if there is one: fats can be looked up without a shop."""
    try:
        return shop_folder(ctx)
    except NotFound:
        return None


def fat_list(ctx: typer.Context, as_json: AsJson = False, as_csv: AsCsv = False) -> None:
    """Your own come from the shop's fats.toml."""
    from soapstock.desk.own_fats_file import load_own_fats
    from soapstock.views.fats import list_fats

    load_own_fats(shop_folder_or_none(ctx))
    rows = list_fats()
    if emit(rows, as_json=as_json, as_csv=as_csv):
        return
    table(
        "Fats (saponification value, mg KOH/g)",
        ["Key", "Name", "SV", "Known from", "Sodium soap on the label"],
        [
            [
                row.fat,
                row.name,
                f"{row.sv_low:g}-{row.sv_high:g}",
                row.confidence,
                row.sodium_salt or "none: fat and hydroxide",
            ]
            for row in rows
        ],
        whole=["SV"],
        spare=["Known from"],
    )


def fat_show(
    ctx: typer.Context,
    key: Annotated[str, typer.Argument(metavar="FAT", help="Fat, such as beef-tallow.")],
    as_json: AsJson = False,
) -> None:
    """It says which figure is used and why."""
    from soapstock.desk.own_fats_file import load_own_fats
    from soapstock.views.fats import fat_sheet

    load_own_fats(shop_folder_or_none(ctx))
    record = fat_sheet(key)
    if as_json:
        emit_record(record)
        return
    say(f"{record.name} ({record.fat}), {record.kind}")
    say_notes(_names(record))
    table(
        "Figures",
        ["Figure", "Range", "Used", "Source"],
        [_figure_row(row) for row in record.figures],
        whole=["Range"],
    )
    table(
        "Fatty acids, % of the acids",
        ["Profile", "SV from it", "Iodine", "Acids"],
        [_profile_row(row) for row in record.profiles],
        right=["SV from it", "Iodine"],
        empty="no profile known",
    )
    say_notes([f"used: {row.why}" for row in record.figures if row.chosen])
    if record.note:
        say_notes([record.note])


def _names(record: FatSheet) -> list[str]:
    none = "none in the inventory read: a label lists the fat and the hydroxide"
    return [
        f"label: {record.inci}; US style: {record.inci_us} ({record.names_confidence})",
        f"sodium soap: {record.sodium_salt or none}",
        f"potassium soap: {record.potassium_salt or none}",
    ]


def _figure_row(row: FigureRow) -> list[str]:
    low, high = row.low, row.high
    if low == high:
        span = f"{low:g}"
    elif low is None:
        span = f"at most {high:g}"
    elif high is None:
        span = f"at least {low:g}"
    else:
        span = f"{low:g}-{high:g}"
    used = "used" if row.chosen else ""
    figure = f"{row.figure.replace('_', ' ')}, {row.unit}"
    return [figure, span, used, f"{row.source} ({row.confidence})"]


def _profile_row(row: ProfileRow) -> list[str]:
    acids = ", ".join(
        f"{acid} {low:g}" if low == high else f"{acid} {low:g}-{high:g}"
        for acid, (low, high) in row.acids_percent.items()
        if high > 0
    )
    figures = [f"{row.computed_sv:.1f}", f"{row.computed_iodine_value:.0f}"]
    return [row.profile, *figures, f"{acids} ({row.confidence})"]
