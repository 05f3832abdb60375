"""`design ...`: label faces and sheets, and calibration."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from soapstock.cli.frame.output import cells, emit, say, table
from soapstock.cli.frame.session import AsCsv, AsJson, Lot, desk, shop_folder
from soapstock.errors import NotFound

if TYPE_CHECKING:
    pass

group = typer.Typer(
    rich_markup_mode=None,
    no_args_is_help=True,
    help="Label faces and sheets: list them, calibrate a printer, look at proofs.",
)
Out = Annotated[Path | None, typer.Option("--out", metavar="FILE.pdf", help="Where to.")]
Offset = Annotated[
    str,
    typer.Option("--offset", metavar="MM,MM", help="Shift print right and down, such as 1.5,0."),
]


def register(app: typer.Typer) -> None:
    """Add the commands of this file."""
    app.add_typer(group, name="design")


def _folders(ctx: typer.Context) -> list[Path]:
    """Design folders; without a shop the shipped ones alone."""
    from soapstock.papers.designs import folders_of
    from soapstock.shop import load_shop

    try:
        return folders_of(load_shop(shop_folder(ctx)))
    except NotFound:
        return folders_of(None)


@group.command("faces")
def faces(ctx: typer.Context, as_json: AsJson = False, as_csv: AsCsv = False) -> None:
    """List label faces: size, what stands on them, and the sheets they go on."""
    from soapstock.papers.designs import face_rows

    rows = face_rows(_folders(ctx))
    if emit(rows, as_json=as_json, as_csv=as_csv):
        return
    shown = [cells(row, ["face", "mm", "about", "sheets"]) for row in rows]
    table("", ["Face", "mm", "What", "Sheets"], shown, whole=["Face", "mm"])


@group.command("sheets")
def sheets(ctx: typer.Context, as_json: AsJson = False, as_csv: AsCsv = False) -> None:
    """List label sheets and rolls: label size, labels a page, paper."""
    from soapstock.papers.designs import sheet_rows

    rows = sheet_rows(_folders(ctx))
    if emit(rows, as_json=as_json, as_csv=as_csv):
        return
    shown = [cells(row, ["sheet", "label_mm", "labels", "about"]) for row in rows]
    heads = ["Sheet", "Label, mm", "A page", "What"]
    table("", heads, shown, right=["A page"], whole=["Sheet", "Label, mm"])


@group.command("calibrate")
def calibrate(
    ctx: typer.Context,
    sheet: Annotated[str, typer.Argument(metavar="SHEET", help="A sheet of: design sheets.")],
    out: Out = None,
    offset: Offset = "0,0",
) -> None:
    """Print a page that shows by how much your printer misses a sheet's labels."""
    from soapstock.papers import designs

    path = out or Path(f"calibration-{sheet}.pdf")
    designs.calibrate(_folders(ctx), sheet, path, designs.parse_offset(offset))
    say(f"Calibration page written to {path}; print it at 100 % on plain paper.")


@group.command("proofs")
def proofs(
    ctx: typer.Context,
    lot: Lot,
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="Folder to write to.")],
) -> None:
    """Write a picture and a text of a lot's label on every face (needs the camera extra)."""
    from soapstock.desk.finding import read_lot
    from soapstock.papers.proofs import write_proofs

    with desk(ctx) as opened:
        written = write_proofs(opened, read_lot(opened, lot, kind="batch"), folder)
    say(f"{len(written)} files written to {folder}")
