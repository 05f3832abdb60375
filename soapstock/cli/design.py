"""`design ...` and `label-run`: label faces and sheets, calibration, and mixed lots on a sheet."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from soapstock.cli.output import cells, emit, say, say_notes, several, table
from soapstock.cli.session import AsCsv, AsJson, Lot, desk, shop_folder
from soapstock.errors import NotFound

if TYPE_CHECKING:
    from collections.abc import Sequence

    from soapstock.render.label.items import SizeNote

group = typer.Typer(
    rich_markup_mode=None,
    no_args_is_help=True,
    help="Label faces and sheets: list them, calibrate a printer, look at proofs.",
)
Out = Annotated[Path | None, typer.Option("--out", metavar="FILE.pdf", help="Where to.")]
RunOffset = Annotated[
    str | None,
    typer.Option("--offset", metavar="MM,MM", help="Shift right, down; else the shop's own."),
]
CountRun = Annotated[bool, typer.Option("--count", help="Count them as printed: see labels check.")]
Offset = Annotated[
    str,
    typer.Option("--offset", metavar="MM,MM", help="Shift print right and down, such as 1.5,0."),
]


def register(app: typer.Typer) -> None:
    """Add the commands of this file."""
    app.command("label-run")(label_run)
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


def label_run(
    ctx: typer.Context,
    lots: Annotated[
        Path, typer.Argument(metavar="LIST.csv", help="Columns lot,copies; no copies: one a bar.")
    ],
    out: Out = None,
    face: Annotated[str | None, typer.Option(help="Label face; see: design faces.")] = None,
    sheet: Annotated[str | None, typer.Option(help="Label sheet; see: design sheets.")] = None,
    start_at: Annotated[int, typer.Option(help="First free label of a part-used sheet.")] = 1,
    offset: RunOffset = None,
    panel_cm2: Annotated[
        float | None,
        typer.Option("--panel-cm2", min=1.0, help="Area of the package's front, for type sizes."),
    ] = None,
    count: CountRun = False,
    explain: Annotated[
        bool, typer.Option("--explain", help="Say which rule bounds each type size.")
    ] = False,
) -> None:
    """Print labels of several lots, mixed on the same sheets."""
    from soapstock.enter.stock import count_printed
    from soapstock.papers import designs, labels

    with desk(ctx) as opened:
        wanted = labels.read_list(lots)
        chosen, on = designs.designs_for(opened, face, sheet)
        path = out or Path(f"labels-{opened.today.isoformat()}.pdf")
        result = labels.print_run(
            opened,
            wanted,
            path,
            face=chosen,
            sheet=on,
            where=str(lots),
            start_at=start_at,
            offset_mm=designs.parse_offset(offset) if offset else None,
            panel_cm2=panel_cm2,
            count=partial(count_printed, opened) if count else None,
        )
    printed = f"{several(result.labels, 'label')} on {several(result.pages, 'page')}"
    say(f"{printed} of {on.name} written to {result.path}")
    if explain:
        say_sizes(result.sizes, result.codes)
    say_notes(result.warnings)


def say_sizes(sizes: Sequence[SizeNote], codes: Sequence[str]) -> None:
    """Print the type size of each statement with the rule that bounds it, and the codes."""
    rows = [
        [
            note.kind.replace("_", " "),
            f"{note.letter_mm:.2f}",
            f"{note.least_mm:.2f}",
            f"{note.rule} ({note.confidence})",
        ]
        for note in sizes
    ]
    table(
        "", ["Statement", "mm", "Least", "Rule"], rows, right=["mm", "Least"], whole=["Statement"]
    )
    for line in codes:
        say(line)
