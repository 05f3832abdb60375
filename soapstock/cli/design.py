"""`design ...`: label faces and sheets, and calibration."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from soapstock.cli.frame.output import cells, emit, say, table
from soapstock.cli.frame.session import AsCsv, AsJson, Lot, desk, shop_folder
from soapstock.errors import NotFound

Out = Annotated[Path | None, typer.Option("--out", metavar="FILE.pdf", help="Where to.")]
Offset = Annotated[
    str,
    typer.Option("--offset", metavar="MM,MM", help="Shift print right and down, such as 1.5,0."),
]


def _folders(ctx: typer.Context) -> list[Path]:
    """Design folders; without a shop the shipped ones alone."""
    from soapstock.papers.designs import folders_of
    from soapstock.shop import load_shop

    try:
        return folders_of(load_shop(shop_folder(ctx)))
    except NotFound:
        return folders_of(None)


def design_faces(ctx: typer.Context, as_json: AsJson = False, as_csv: AsCsv = False) -> None:
    from soapstock.papers.designs import face_rows

    rows = face_rows(_folders(ctx))
    if emit(rows, as_json=as_json, as_csv=as_csv):
        return
    shown = [cells(row, ["face", "mm", "about", "sheets"]) for row in rows]
    table("", ["Face", "mm", "What", "Sheets"], shown, whole=["Face", "mm"])


def design_sheets(ctx: typer.Context, as_json: AsJson = False, as_csv: AsCsv = False) -> None:
    from soapstock.papers.designs import sheet_rows

    rows = sheet_rows(_folders(ctx))
    if emit(rows, as_json=as_json, as_csv=as_csv):
        return
    shown = [cells(row, ["sheet", "label_mm", "labels", "about"]) for row in rows]
    heads = ["Sheet", "Label, mm", "A page", "What"]
    table("", heads, shown, right=["A page"], whole=["Sheet", "Label, mm"])


def design_calibrate(
    ctx: typer.Context,
    sheet: Annotated[str, typer.Argument(metavar="SHEET", help="A sheet of: design sheets.")],
    out: Out = None,
    offset: Offset = "0,0",
) -> None:
    from soapstock.papers import designs

    path = out or Path(f"calibration-{sheet}.pdf")
    designs.calibrate(_folders(ctx), sheet, path, designs.parse_offset(offset))
    say(f"Calibration page written to {path}; print it at 100 % on plain paper.")


def design_proofs(
    ctx: typer.Context,
    lot: Lot,
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="Folder to write to.")],
    mood: Annotated[
        str | None, typer.Option(help="quiet, tinted or ringed; else the shop's own.")
    ] = None,
) -> None:
    """All faces stand on one page, all-faces.pdf. This needs the camera extra."""
    from soapstock.papers.proofs import write_proofs

    with desk(ctx) as opened:
        written = write_proofs(opened, lot, folder, mood)
    say(f"{len(written)} files written to {folder}")
