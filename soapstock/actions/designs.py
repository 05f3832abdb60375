"""Label designs and runs: lists of faces and sheets, calibration, mixed lots, proofs."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from math import pi
from pathlib import Path
from typing import TYPE_CHECKING, Any

from soapstock.actions.wording import label_text
from soapstock.codes.lot import format_code
from soapstock.errors import BadInput, NotFound, SoapstockError
from soapstock.exchange.text_file import read_text_file
from soapstock.labelling.type_size import cylinder_panel_cm2, rectangle_panel_cm2
from soapstock.recipes.bars import Brick, Cylinder
from soapstock.tables.csv_text import csv_cells
from soapstock.tables.shipped import shipped_dir

if TYPE_CHECKING:
    from soapstock.actions.desk import Desk
    from soapstock.actions.wording import LabelText
    from soapstock.recipes.bars import BarShape
    from soapstock.render.label.designs import Face, Sheet
    from soapstock.render.label.items import Layout
    from soapstock.render.label.run import LabelJob, PrintResult
    from soapstock.shop import Shop

MAX_LINES = 5_000
MAX_COPIES = 5_000
COLUMNS = ("lot", "copies")


def folders_of(shop: Shop | None) -> list[Path]:
    """Where designs are looked for: the shop's own labels folder, if any, then the shipped ones."""
    own = [shop.folder / "labels"] if shop is not None else []
    return [*own, shipped_dir("labels")]


def face_rows(folders: Sequence[Path]) -> list[dict[str, Any]]:
    """All faces for a list: name, size, what for, sheets."""
    from soapstock.render.label.designs import list_faces, load_face

    faces = [load_face(name, folders) for name in list_faces(folders)]
    return [
        {
            "face": face.name,
            "mm": f"{face.width_mm:g} x {face.height_mm:g}",
            "shape": face.shape,
            "whole_label": not face.partial,
            "about": face.about,
            "sheets": ", ".join(face.suits),
        }
        for face in faces
    ]


def sheet_rows(folders: Sequence[Path]) -> list[dict[str, Any]]:
    """All sheets for a list: name, label size, labels a page, paper."""
    from soapstock.render.label.designs import list_sheets, load_sheet

    sheets = [load_sheet(name, folders) for name in list_sheets(folders)]
    return [
        {
            "sheet": sheet.name,
            "label_mm": f"{sheet.label_width_mm:g} x {sheet.label_height_mm:g}",
            "labels": sheet.per_page,
            "paper_mm": f"{sheet.paper_width_mm:g} x {sheet.paper_height_mm:g}",
            "shape": sheet.shape,
            "dpi": sheet.dpi or None,
            "about": sheet.about,
        }
        for sheet in sheets
    ]


def calibrate(
    folders: Sequence[Path], name: str, path: Path, offset_mm: tuple[float, float]
) -> None:
    """Print the calibration page of a sheet. Raises NotFound, BadTable, BadInput."""
    from soapstock.render.label.calibration import write_calibration
    from soapstock.render.label.designs import load_sheet

    write_calibration(path, load_sheet(name, folders), offset_mm=offset_mm)


def parse_offset(text: str) -> tuple[float, float]:
    """A printer offset `RIGHT,DOWN` in mm, such as `1.5,-0.5`. Raises BadInput."""
    try:
        right, down = (float(part) for part in text.split(","))
    except ValueError:
        raise BadInput(
            f"offset '{text}' is not understood", hint="write it in mm: right,down as 1.5,-0.5"
        ) from None
    return right, down


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """So many labels of a lot, from one line of a list."""

    lot: str
    copies: int | None
    line: int


def _wanted(row: list[str], where: str, line: int) -> Wanted:
    if len(row) != len(COLUMNS) or not row[0]:
        raise BadInput(f"{where}: a line is a lot and its copies", hint="such as DRF-26329-A1,12")
    copies = row[1]
    if copies and not (copies.isascii() and copies.isdecimal() and 1 <= int(copies) <= MAX_COPIES):
        raise BadInput(
            f"{where}: copies '{copies}' is not a whole number from 1 to {MAX_COPIES}",
            hint="leave it empty for one label a bar",
        )
    return Wanted(lot=row[0], copies=int(copies) if copies else None, line=line)


def read_list(path: Path) -> list[Wanted]:
    """The lines of a CSV file with columns lot and copies (empty copies: one label a bar).

    Raises:
        NotFound: no such file.
        BadInput: not that kind of file, or a wrong line (names file and line).
    """
    text = read_text_file(path, "list")
    wanted: list[Wanted] = []
    for number, line in enumerate(text.splitlines(), 1):
        where = f"{path}:{number}"
        row = csv_cells(line, where, strict=True)
        if number == 1:
            if row != list(COLUMNS):
                raise BadInput(f"{where}: the columns are not lot,copies", hint="begin: lot,copies")
        elif any(row):
            wanted.append(_wanted(row, where, number))
    if not wanted or len(wanted) > MAX_LINES:
        raise BadInput(f"{path} has {len(wanted)} lots", hint=f"give 1 to {MAX_LINES}")
    return wanted


def front_of(bar: BarShape | None) -> tuple[float | None, float | None]:
    """Front and whole surface in cm2 of a bar in a close wrap, as the law on type heights counts.

    The front of a brick is its largest side; of a round bar its top or 0.40 of its wall, whichever
    is larger (16 CFR 500.21(a); taking the larger is our own choice, on the safe side).
    """
    if bar is None:
        return None, None
    if isinstance(bar, Brick):
        short, middle, long = sorted((bar.length_mm, bar.width_mm, bar.height_mm))
        surface = 2 * (short * middle + middle * long + short * long) / 100
        return rectangle_panel_cm2(long, middle), surface
    across = bar.diameter_mm if isinstance(bar, Cylinder) else bar.top_diameter_mm
    top = pi / 4 * across**2 / 100
    wall = pi * across * bar.height_mm / 100
    return max(top, cylinder_panel_cm2(bar.height_mm, pi * across)), 2 * top + wall


def label_job(label: LabelText, shop: Shop, copies: int | None) -> LabelJob:
    """The print job of a lot: its wording, barcodes if it has a GTIN, and the bar's own front."""
    from soapstock.render.label.run import LabelJob
    from soapstock.render.pdf.barcode import codes_for

    gtin = shop.gtin_for(label.item.recipe.code)
    codes: Mapping[str, str] = {}
    if gtin:
        codes = codes_for(gtin, label.item.facts.lot_code, label.item.best_before)
    number = copies if copies is not None else max(label.item.bars, 1)
    front, surface = front_of(label.item.recipe.bar)
    return LabelJob(
        wording=label.wording,
        copies=number,
        codes=codes,
        panel_cm2=front,
        surface_cm2=surface,
    )


def designs_for(desk: Desk, face: str | None, sheet: str | None) -> tuple[Face, Sheet]:
    """The face and sheet named, else the shop's; a face that goes on others takes its own first."""
    from soapstock.render.label.designs import load_face, load_sheet

    folders = folders_of(desk.shop)
    chosen = load_face(face or desk.shop.face, folders)
    if sheet:
        return chosen, load_sheet(sheet, folders)
    if desk.shop.sheet in chosen.suits or not chosen.suits:
        return chosen, load_sheet(desk.shop.sheet, folders)
    near = [name for name in chosen.suits if name.startswith(desk.shop.paper)]
    return chosen, load_sheet((near or list(chosen.suits))[0], folders)


def print_run(
    desk: Desk,
    wanted: Sequence[Wanted],
    path: Path,
    *,
    face: Face,
    sheet: Sheet,
    where: str = "",
    start_at: int = 1,
    offset_mm: tuple[float, float] | None = None,
    panel_cm2: float | None = None,
    count: bool = False,
) -> PrintResult:
    """Print labels of several lots, one after another on the same sheets.

    Args:
        desk: the shop at work.
        wanted: lots and how many labels of each.
        path: the PDF to write.
        face: what stands where on a label.
        sheet: where labels stand on the paper.
        where: the list's name, for messages.
        start_at: first free label of a part-used sheet.
        offset_mm: printer offset, right and down; the shop's own when None.
        panel_cm2: area of the package's front; the bar's own when None.
        count: count them as printed, once the PDF is there.

    Raises:
        SoapstockError: as for one lot; the message begins with the list's file and line.
    """
    from soapstock.actions.stocking import count_printed
    from soapstock.render.label.run import write_labels

    if count:
        desk.stamp()  # refuses before anything is printed
    early: dict[str, None] = {}
    printed: list[tuple[str, int]] = []

    def jobs() -> Iterator[LabelJob]:
        for line in wanted:
            try:
                label = label_text(desk, line.lot)
                job = label_job(label, desk.shop, line.copies)
                job = replace(job, panel_cm2=panel_cm2 or job.panel_cm2)
            except SoapstockError as err:
                if not where:
                    raise
                said = f"{where}:{line.line}: {err.message}"
                raise type(err)(said, hint=err.hint) from None
            if label.item.readiness.state != "ready":
                lot, state = format_code(label.item.facts.lot_code), label.item.readiness.state
                early[f"{lot} is {state}: these labels may not go on sale yet."] = None
            printed.append((job.wording.lot_code, job.copies))
            yield job

    result = write_labels(
        path,
        jobs(),
        face=face,
        sheet=sheet,
        start_at=start_at,
        offset_mm=desk.shop.printer_offset_mm if offset_mm is None else offset_mm,
        title=f"Labels of {len(wanted)} lots" if len(wanted) > 1 else "Labels",
    )
    told = count_printed(desk, printed, face.name) if count else []
    return replace(result, warnings=(*told, *dict.fromkeys(early), *result.warnings))


@dataclass(frozen=True, slots=True, kw_only=True)
class Proof:
    """A face with a lot's label on it: words, places and sizes as text; or why it cannot be."""

    face: str
    text: str


def layout_of(desk: Desk, label: LabelText, face: Face, sheet: Sheet) -> Layout:
    """A label as it would be printed on that face and sheet, laid out but not drawn.

    Raises:
        RuleBroken: the wording does not fit the face, or the face not the sheet.
    """
    from soapstock.render.label import run

    return run.layout_of(label_job(label, desk.shop, 1), face, sheet)


def proof_of(desk: Desk, lot: str, face: Face, sheet: Sheet) -> Proof:
    """The proof of a lot's label on a face, as laid out on that sheet's labels."""
    from soapstock.render.label.proofs import proof_text

    layout = layout_of(desk, label_text(desk, lot), face, sheet)
    return Proof(face=face.name, text=proof_text(layout))


def write_proofs(desk: Desk, lot: str, folder: Path) -> list[Path]:
    """Text and picture of a lot's label on every face, in a folder; the files written."""
    from soapstock.render.label.designs import list_faces
    from soapstock.render.label.proofs import write_picture

    if not folder.is_dir():
        raise NotFound(f"no folder {folder}", hint="make it first")
    code = format_code(lot)
    written = []
    for name in list_faces(folders_of(desk.shop)):
        face, sheet = designs_for(desk, name, None)
        proof = proof_of(desk, lot, face, sheet)
        text, picture, pdf = (folder / f"{name}{end}" for end in (".txt", ".png", ".pdf"))
        print_run(desk, [Wanted(lot=code, copies=1, line=0)], pdf, face=face, sheet=sheet)
        text.write_text(proof.text, encoding="utf-8")
        area = sheet.cell(0).grown(1.0 + face.bleed_mm)
        write_picture(pdf, picture, area_mm=area)
        pdf.unlink()
        written += [text, picture]
    return written
