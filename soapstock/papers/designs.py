"""Label faces and sheets that a shop can print, and the pages to calibrate a printer."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from soapstock.errors import BadInput, RuleBroken
from soapstock.tables.shipped import shipped_dir

if TYPE_CHECKING:
    from soapstock.desk.desk import Desk
    from soapstock.render.label.designs import Face, Sheet
    from soapstock.shop import Shop


def folders_of(shop: Shop | None) -> list[Path]:
    """Where designs are looked for: the shop's own labels folder, if any, then the shipped ones."""
    own = [shop.folder / "labels"] if shop is not None else []
    return [*own, shipped_dir("labels")]


@dataclass(frozen=True, slots=True, kw_only=True)
class FaceRow:
    """A face: its size, whether it is a whole label, and the sheets that fit it."""

    face: str
    mm: str
    shape: str
    whole_label: bool
    about: str
    sheets: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetRow:
    """A sheet or roll: size of a label, labels a page, paper."""

    sheet: str
    label_mm: str
    labels: int
    paper_mm: str
    shape: str
    dpi: int | None
    about: str


def face_rows(folders: Sequence[Path]) -> list[FaceRow]:
    """All faces for a list."""
    from soapstock.render.label.designs import list_faces, load_face

    faces = [load_face(name, folders) for name in list_faces(folders)]
    return [
        FaceRow(
            face=face.name,
            mm=f"{face.width_mm:g} x {face.height_mm:g}",
            shape=face.shape,
            whole_label=not face.partial,
            about=face.about,
            sheets=", ".join(face.suits),
        )
        for face in faces
    ]


def sheet_rows(folders: Sequence[Path]) -> list[SheetRow]:
    """All sheets for a list."""
    from soapstock.render.label.designs import list_sheets, load_sheet

    sheets = [load_sheet(name, folders) for name in list_sheets(folders)]
    return [
        SheetRow(
            sheet=sheet.name,
            label_mm=f"{sheet.label_width_mm:g} x {sheet.label_height_mm:g}",
            labels=sheet.per_page,
            paper_mm=f"{sheet.paper_width_mm:g} x {sheet.paper_height_mm:g}",
            shape=sheet.shape,
            dpi=sheet.dpi or None,
            about=sheet.about,
        )
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


def name_note(desk: Desk, name: str) -> str | None:
    """What keeps a bar's name off the shop's own face, and which faces hold it; None when it fits.

    Told when the recipe is added: once bars are poured, the name is on record with them.
    """
    from soapstock.render.label.designs import list_faces, load_face

    folders = folders_of(desk.shop)
    trouble = _name_trouble(load_face(desk.shop.face, folders), name)
    if trouble is None:
        return None
    others = (load_face(one, folders) for one in list_faces(folders) if one != desk.shop.face)
    able = [
        one.name
        for one in others
        if any("name" in block.holds for block in one.blocks) and _name_trouble(one, name) is None
    ]
    which = f"it fits on: {', '.join(able)}" if able else "no face of the shop holds it"
    return f"On face '{desk.shop.face}' {trouble}; {which}."


def _name_trouble(face: Face, name: str) -> str | None:
    """Why a face cannot hold a name, whatever else stands on it; None when it can."""
    from soapstock.labelling.wording import LabelWording, Statement
    from soapstock.render.label.layout import lay_out
    from soapstock.render.label.pieces import Printed

    said = Statement(kind="name", text=name, rule="", required=False)
    wording = LabelWording(statements=(said,), lot_code="", qr_text="LOT", cautions=())
    try:
        lay_out(
            Printed(wording=wording, face=face), width_mm=face.width_mm, height_mm=face.height_mm
        )
    except RuleBroken as err:
        return err.message
    return None
