"""Every face of a lot as pictures and text."""

from __future__ import annotations

from collections.abc import Sequence
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
    from soapstock.render.label.run import LabelJob
    from soapstock.render.label.show import Shown
    from soapstock.views.label import LabelText


PREVIEW_DPI = 300
_COLOURS = 64
OVERVIEW = "all-faces"


@one_snapshot
def write_proofs(desk: Desk, lot: str, folder: Path, mood: str | None = None) -> list[Path]:
    """Text and picture of a lot's label on every face, in a folder, and all of them on one page.

    `mood` is the shop's own when None. Returns the files written.

    Raises:
        NotFound: no such folder.
        BadTable, RuleBroken: some faces cannot be drawn; it names each, and the others are written.
        BadInput: the `camera` extra is not installed, or the folder cannot be written to.
    """
    from soapstock.render.label.designs import list_faces

    if not folder.is_dir():
        raise NotFound(f"no folder {folder}", hint="make it first")
    label, written, shown = label_text(desk, lot), list[Path](), list["Shown"]()
    faults: dict[str, BadTable | RuleBroken] = {}
    job = label_job(label, desk.shop, 1, mood)
    for name in list_faces(folders_of(desk.shop)):
        try:
            shown.append(_write_proof(desk, job, name, folder))
            written += [folder / f"{name}.txt", folder / f"{name}.png"]
        except (BadTable, RuleBroken) as err:
            faults[name] = err
    if shown:
        written += _write_overview(desk, label, shown, folder)
    if faults:
        first = next(iter(faults.values()))
        said = "; ".join(f"face '{name}': {err.message}" for name, err in faults.items())
        raise type(first)(f"not drawn, but all others: {said}", hint=first.hint)
    return written


def _write_proof(desk: Desk, job: LabelJob, name: str, folder: Path) -> Shown:
    """Text and picture on one face, by way of a PDF that nobody keeps."""
    from soapstock.render.label import run
    from soapstock.render.label.proofs import proof_text, write_picture
    from soapstock.render.label.show import Shown

    face, sheet = designs_for(desk, name, None)
    layout = run.layout_of(job, face, sheet)
    with work_folder() as away:
        pdf = away / "proof.pdf"
        run.write_labels(pdf, [job], face=face, sheet=sheet, title=name)
        area = sheet.cell(0).grown(1.0 + face.bleed_mm)
        write_picture(pdf, folder / f"{name}.png", area_mm=area)
    write_text_file(folder / f"{name}.txt", proof_text(layout), ".txt")
    return Shown(face=face, sheet=sheet, layout=layout)


def _write_overview(
    desk: Desk, label: LabelText, shown: Sequence[Shown], folder: Path
) -> list[Path]:
    """All faces on one page, as a PDF and a picture of it."""
    from soapstock.render.label.proofs import write_page
    from soapstock.render.label.show import write_overview
    from soapstock.render.pdf.file import paper_size_mm

    pdf, picture = folder / f"{OVERVIEW}.pdf", folder / f"{OVERVIEW}.png"
    title = f"Labels of {label.item.recipe.name} {label.item.facts.lot_code.shown}"
    write_overview(pdf, shown, title, paper_size_mm(desk.shop.paper))
    write_page(pdf, picture)
    return [pdf, picture]


def write_preview(
    desk: Desk,
    label: LabelText,
    picture: Path,
    *,
    face: str | None = None,
    sheet: str | None = None,
    mood: str | None = None,
) -> Layout:
    """A picture (PNG) of a label at its true size with rulers, in colour; the label as laid out.

    Raises:
        BadInput: the `camera` extra is not installed, or the picture cannot be written.
        RuleBroken: the wording does not fit the face, or the face not the sheet.
    """
    from soapstock.outfile import check_writable
    from soapstock.render.label import show
    from soapstock.render.pdf.page_picture import page_image, write_png

    check_writable(picture, ".png")
    chosen, on = designs_for(desk, face, sheet)
    with work_folder() as away:
        pdf = away / "preview.pdf"
        job = label_job(label, desk.shop, 1, mood)
        layout = show.write_preview(pdf, job, face=chosen, sheet=on)
        image = page_image(pdf, PREVIEW_DPI).convert("RGB").quantize(_COLOURS)
    write_png(image, picture, dpi=(PREVIEW_DPI, PREVIEW_DPI), optimize=True)
    return layout


def layout_of(desk: Desk, label: LabelText, face: Face, sheet: Sheet) -> Layout:
    """A label as it would be printed on that face and sheet, laid out but not drawn.

    Raises:
        RuleBroken: the wording does not fit the face, or the face not the sheet.
    """
    from soapstock.render.label import run

    return run.layout_of(label_job(label, desk.shop, 1), face, sheet)
