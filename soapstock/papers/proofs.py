"""Every face of a lot as pictures and text."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from soapstock.desk.desk import one_snapshot
from soapstock.errors import BadTable, NotFound, RuleBroken
from soapstock.exchange.text_file import write_text_file
from soapstock.outfile import work_folder
from soapstock.papers.designs import designs_for, folders_of
from soapstock.papers.labels import label_job
from soapstock.views.label import label_text

if TYPE_CHECKING:
    from soapstock.desk.desk import Desk
    from soapstock.render.label.designs import Face, Sheet
    from soapstock.render.label.items import Layout
    from soapstock.views.label import LabelText


@one_snapshot
def write_proofs(desk: Desk, lot: str, folder: Path) -> list[Path]:
    """Text and picture of a lot's label on every face, in a folder; the files written.

    Raises:
        NotFound: no such folder.
        BadTable, RuleBroken: some faces cannot be drawn; it names each, and the others are written.
        BadInput: the `camera` extra is not installed, or the folder cannot be written to.
    """
    from soapstock.render.label.designs import list_faces

    if not folder.is_dir():
        raise NotFound(f"no folder {folder}", hint="make it first")
    label, written = label_text(desk, lot), list[Path]()
    faults: dict[str, BadTable | RuleBroken] = {}
    for name in list_faces(folders_of(desk.shop)):
        try:
            written += _write_proof(desk, label, name, folder)
        except (BadTable, RuleBroken) as err:
            faults[name] = err
    if faults:
        first = next(iter(faults.values()))
        said = "; ".join(f"face '{name}': {err.message}" for name, err in faults.items())
        raise type(first)(f"not drawn, but all others: {said}", hint=first.hint)
    return written


def _write_proof(desk: Desk, label: LabelText, name: str, folder: Path) -> list[Path]:
    """Text and picture on one face, by way of a PDF that nobody keeps."""
    from soapstock.render.label.proofs import proof_text, write_picture
    from soapstock.render.label.run import write_labels

    face, sheet = designs_for(desk, name, None)
    text, picture = folder / f"{name}.txt", folder / f"{name}.png"
    words = proof_text(layout_of(desk, label, face, sheet))
    with work_folder() as away:
        pdf = away / "proof.pdf"
        write_labels(pdf, [label_job(label, desk.shop, 1)], face=face, sheet=sheet, title=name)
        write_picture(pdf, picture, area_mm=sheet.cell(0).grown(1.0 + face.bleed_mm))
    write_text_file(text, words, ".txt")
    return [text, picture]


def layout_of(desk: Desk, label: LabelText, face: Face, sheet: Sheet) -> Layout:
    """A label as it would be printed on that face and sheet, laid out but not drawn.

    Raises:
        RuleBroken: the wording does not fit the face, or the face not the sheet.
    """
    from soapstock.render.label import run

    return run.layout_of(label_job(label, desk.shop, 1), face, sheet)
