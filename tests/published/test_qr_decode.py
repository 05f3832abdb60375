"""QR codes on our rendered pages, decoded by an independent reader.

Source: ISO/IEC 18004 as implemented by the zxing-cpp library (decoder), pages rendered by PDFium
(pypdfium2); neither shares code with the qrcode and reportlab libraries that make the pages.
"""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pypdfium2
import pytest
import zxingcpp

from soapstock.labelling.wording import LabelWording, Statement
from soapstock.render.label.designs import load_face, load_sheet
from soapstock.render.label.run import LabelJob, write_labels
from soapstock.render.paper.batch_sheet import BatchSheet, SheetLine, write_batch_sheet
from soapstock.render.paper.rack_card import RackCard, write_rack_card

FOLDERS = [Path(__file__).parents[2] / "labels"]
LINK = "https://heronwick.example/01/06291041500213/10/DRF26329AK"
TEXTS = ["DRF26329AK", "https://heronwick.example/lot/DRF26329AK", LINK]


def _decode(path: Path, dpi: int = 300) -> list[str]:
    found: list[str] = []
    for page in pypdfium2.PdfDocument(path):
        picture = page.render(scale=dpi / 72).to_numpy()
        found += [code.text for code in zxingcpp.read_barcodes(picture)]
    return found


def _wording(qr_text: str) -> LabelWording:
    texts = {"name": "Driftwood", "net_weight": "Net Wt 3.98 oz (113 g)", "lot": "Lot DRF-26329-AK"}
    return LabelWording(
        statements=tuple(
            Statement(kind=kind, text=text, rule="x", required=False)  # type: ignore[arg-type]
            for kind, text in texts.items()
        ),
        lot_code="DRF26329AK",
        qr_text=qr_text,
        cautions=(),
    )


@pytest.mark.parametrize("text", TEXTS)
@pytest.mark.parametrize(
    ("face", "sheet"),
    [
        ("band", "a4-1x4"),
        ("band", "letter-1x4"),
        ("panel", "a4-2x4"),
        ("panel", "letter-2x3"),
        ("panel", "roll-100x60"),
    ],
)
@pytest.mark.parametrize("dpi", [203, 300])
def test_every_label_on_a_sheet_is_read(
    text: str, face: str, sheet: str, dpi: int, tmp_path: Path
) -> None:
    """Each label's code gives its text back at the two usual label-printer resolutions."""
    design = load_sheet(sheet, FOLDERS)
    path = tmp_path / "l.pdf"
    jobs = [LabelJob(wording=_wording(text), copies=design.per_page)]
    write_labels(path, jobs, face=load_face(face, FOLDERS), sheet=design, title="x")
    assert _decode(path, dpi) == [text] * design.per_page


@pytest.mark.parametrize("text", TEXTS)
def test_the_code_of_a_batch_sheet_is_read(text: str, tmp_path: Path) -> None:
    """The lot to be can be scanned off the sheet."""
    path = tmp_path / "s.pdf"
    sheet = BatchSheet(
        shop_name="Heronwick Saltings",
        recipe_name="Driftwood",
        recipe_code="DRF",
        recipe_version=1,
        lot_code="DRF-26329-AK",
        qr_text=text,
        planned_on=date(2026, 11, 25),
        lines=(SheetLine(group="fats", name="Tallow", mass_text="1 g"),),
        figures=(),
        verdict="safe",
        reasons=(),
        cautions=("Wear goggles.",),
    )
    write_batch_sheet(path, sheet)
    assert _decode(path, 150) == [text]


@pytest.mark.parametrize("text", TEXTS)
def test_the_codes_of_two_rack_cards_are_read(text: str, tmp_path: Path) -> None:
    """Both cards on a page are scanned."""
    path = tmp_path / "c.pdf"
    card = RackCard(
        shop_name="Heronwick Saltings",
        recipe_name="Driftwood",
        lot_code="DRF-26329-AK",
        qr_text=text,
        poured_on=date(2026, 11, 25),
        unmould_due=None,
        bars=None,
        start_mass_text="",
        declared_text="",
        ready_text="not known yet",
        state="in mould",
    )
    write_rack_card(path, [card, card])
    assert _decode(path, 150) == [text, text]
