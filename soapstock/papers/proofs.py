"""Every face of a lot as pictures and text."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from soapstock.codes.lot import format_code
from soapstock.errors import NotFound
from soapstock.papers.designs import designs_for, folders_of
from soapstock.papers.labels import Wanted, label_job, print_run
from soapstock.views.label import label_text

if TYPE_CHECKING:
    from soapstock.desk.desk import Desk
    from soapstock.render.label.designs import Face, Sheet
    from soapstock.render.label.items import Layout
    from soapstock.views.label import LabelText


@dataclass(frozen=True, slots=True, kw_only=True)
class Proof:
    """A face with a lot's label on it: words, places and sizes as text; or why it cannot be."""

    face: str
    text: str


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


def layout_of(desk: Desk, label: LabelText, face: Face, sheet: Sheet) -> Layout:
    """A label as it would be printed on that face and sheet, laid out but not drawn.

    Raises:
        RuleBroken: the wording does not fit the face, or the face not the sheet.
    """
    from soapstock.render.label import run

    return run.layout_of(label_job(label, desk.shop, 1), face, sheet)
