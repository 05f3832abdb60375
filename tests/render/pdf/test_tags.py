"""Tagged PDF, as read by PDFium."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pypdfium2
import pytest
from pypdfium2 import raw

from soapstock.labelling.wording import LabelWording
from soapstock.render.label.designs import load_face, load_sheet
from soapstock.render.label.run import LabelJob, write_labels
from soapstock.render.paper.rack_card import write_rack_card
from tests.render.paper.test_rack_card import CARD

MakeWording = Callable[..., LabelWording]


def _marked(path: Path) -> list[int]:
    """For each page, how many pieces of marked content its paragraph holds."""
    counts = []
    for page in pypdfium2.PdfDocument(path):
        tree = raw.FPDF_StructTree_GetForPage(page.raw)
        assert raw.FPDF_StructTree_CountChildren(tree) == 1
        whole = raw.FPDF_StructTree_GetChildAtIndex(tree, 0)
        children = [
            raw.FPDF_StructElement_GetChildAtIndex(whole, index)
            for index in range(raw.FPDF_StructElement_CountChildren(whole))
        ]
        (part,) = [child for child in children if child]  # other pages' parts come as null
        counts.append(raw.FPDF_StructElement_GetMarkedContentIdCount(part))
        raw.FPDF_StructTree_Close(tree)
    return counts


@pytest.mark.parametrize("face", ["panel", "band"])
def test_each_label_is_marked_content_of_its_page(
    face: str, wording: MakeWording, folders: list[Path], tmp_path: Path
) -> None:
    """Nine labels: as many pieces on each page as it has labels; cutting lines are none."""
    path = tmp_path / "l.pdf"
    chosen = load_face(face, folders)
    sheet = load_sheet(chosen.suits[0], folders)
    jobs = [LabelJob(wording=wording(), copies=9)]
    write_labels(path, jobs, face=chosen, sheet=sheet, title="x")
    full, rest = divmod(9, sheet.per_page)
    assert _marked(path) == [sheet.per_page] * full + [rest]
    assert b"/Marked true" in path.read_bytes()


def test_a_workshop_paper_is_marked_as_a_whole(tmp_path: Path) -> None:
    """One piece a page."""
    path = tmp_path / "c.pdf"
    write_rack_card(path, [CARD, CARD, CARD])
    assert _marked(path) == [1, 1]
