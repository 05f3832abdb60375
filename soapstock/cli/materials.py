"""`materials`: the ingredients that soapstock knows by name."""

from __future__ import annotations

from typing import Annotated

import typer

from soapstock.cli.fat import shop_folder_or_none
from soapstock.cli.frame.output import emit, table
from soapstock.cli.frame.session import AsCsv, AsJson


def materials(
    ctx: typer.Context,
    word: Annotated[
        str, typer.Argument(metavar="[WORD]", help="Only those with it in a name, as clay.")
    ] = "",
    as_json: AsJson = False,
    as_csv: AsCsv = False,
) -> None:
    """In recipes, deliveries and pours each may be typed by any of its names.

    What is not here is a fat of your own (fats.toml), or an addition whose recipe gives its name on
    the label (label_name).
    """
    from soapstock.desk.own_fats_file import load_own_fats
    from soapstock.views.materials import materials as known

    load_own_fats(shop_folder_or_none(ctx))
    rows = known(word)
    if emit(rows, as_json=as_json, as_csv=as_csv):
        return
    table(
        "Materials",
        ["Name", "What", "In plain words", "INCI"],
        [[row.name, row.kind, row.plain, row.inci] for row in rows],
        empty=f"none with '{word}' in a name",
    )
