"""Label PDFs looked at by an independent library: fonts, titles, and that no two texts overlap.

Source: ISO 32000-1 (PDF) as read by PDFium (pypdfium2), which shares no code with the library that
makes the files.
"""

from __future__ import annotations

import ctypes
import re
from datetime import date
from decimal import Decimal
from itertools import combinations
from pathlib import Path

import pypdfium2
import pytest

from soapstock.labelling.declaration import Declaration
from soapstock.labelling.netweight import net_weight
from soapstock.labelling.wording import LabelFacts, LabelWording, word_label
from soapstock.render.label.designs import list_faces, load_face, load_sheet
from soapstock.render.label.run import LabelJob, write_labels
from soapstock.units import MM_PER_PT

FOLDERS = [Path(__file__).parents[2] / "labels"]
LIST = (
    "Ingredients: Adeps Bovis, Cocos Nucifera Oil, Aqua, Olea Europaea Fruit Oil, Sodium Hydroxide,"
    " Ricinus Communis Seed Oil, Butyrospermum Parkii Butter, Kaolin, Lavandula Angustifolia Oil,"
    " Linalool, Linalyl Acetate, CI 77007"
)
CASES = [(face, sheet) for face in list_faces(FOLDERS) for sheet in load_face(face, FOLDERS).suits]
LANGUAGES = ["en", "fr", "de", "es", "nl"]


def _wording(market: str, language: str = "en") -> LabelWording:
    declaration = Declaration(
        convention="poured", names="eu", lines=(), text=LIST, notes=(), confidence="read"
    )
    return word_label(
        LabelFacts(
            market=market,
            maker_name="Heronwick Saltings",
            maker_address=("4 Saltings Lane", "Heronwick", "ME 04000"),
            maker_contact="hello@heronwick.example",
            recipe_name="Driftwood",
            identity="Soap",
            net_weight=net_weight(Decimal(113), market),
            declaration=declaration,
            lot_code="DRF-26329-AK",
            made_on=date(2026, 11, 25),
            best_before=date(2028, 5, 25),
            qr_text="DRF26329AK",
            language=language,
            responsible=("Greywater Quay Trading", "2 Basin Row", "Port Linden, Ireland"),
            origin="USA",
        )
    )


def _print(path: Path, face: str, sheet: str, words: LabelWording) -> pypdfium2.PdfDocument:
    write_labels(
        path,
        [LabelJob(wording=words, copies=1), LabelJob(wording=words, copies=1)],
        face=load_face(face, FOLDERS),
        sheet=load_sheet(sheet, FOLDERS),
        title="Labels Driftwood DRF-26329-AK",
    )
    return pypdfium2.PdfDocument(path)


def _letters(page: pypdfium2.PdfPage) -> list[tuple[float, float, float, float]]:
    text = page.get_textpage()
    raw = pypdfium2.raw
    upright = [n for n in range(text.count_chars()) if raw.FPDFText_GetCharAngle(text, n) == 0]
    boxes = [text.get_charbox(n) for n in upright]  # boxes of turned letters are no outlines
    return [box for box in boxes if box[2] - box[0] > 0.05 and box[3] - box[1] > 0.05]


@pytest.mark.parametrize(("face", "sheet"), CASES)
def test_no_two_letters_overlap_and_none_leaves_the_paper(
    face: str, sheet: str, tmp_path: Path
) -> None:
    """Outlines of letters keep apart, but for a hair where the font itself lets them touch."""
    for page in _print(tmp_path / "l.pdf", face, sheet, _wording("us-soap")):
        width, height = page.get_size()
        letters = _letters(page)
        assert letters
        for left, bottom, right, top in letters:
            assert 0 <= left <= right <= width
            assert 0 <= bottom <= top <= height
        for one, other in combinations(letters, 2):
            across = min(one[2], other[2]) - max(one[0], other[0])
            down = min(one[3], other[3]) - max(one[1], other[1])
            hair = max(0.9, 0.14 * min(one[3] - one[1], other[3] - other[1]))
            assert across < hair or down < 0.9  # points; f and j reach over their neighbours


def _bare(text: str) -> str:
    """The letters alone: a face may set capitals, and a heading without its colon."""
    return "".join(text.casefold().replace(":", "").split())


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize(("face", "sheet"), [("band", "a4-1x4"), ("panel", "a4-2x4")])
def test_labels_fit_in_every_language_and_say_which(
    face: str, sheet: str, language: str, tmp_path: Path
) -> None:
    """Statement words of five languages fit the faces that hold a whole label."""
    path = tmp_path / "l.pdf"
    words = _wording("eu", language)
    page = _print(path, face, sheet, words)[0]
    text = page.get_textpage()
    # a lot on two lines of the band's first side would else be read across the side next to it
    side = text.get_text_bounded(right=30 / MM_PER_PT) if face == "band" else ""
    told = _bare(text.get_text_bounded()) + "|" + _bare(side)
    for statement in words.statements:
        assert _bare(statement.text) in told, statement.text
    assert f"/Lang ({language})".encode() in path.read_bytes()


def test_the_title_is_that_of_the_run(tmp_path: Path) -> None:
    """What a reader program shows on top."""
    pdf = _print(tmp_path / "l.pdf", "panel", "a4-2x4", _wording("us-soap"))
    assert pdf.get_metadata_value("Title") == "Labels Driftwood DRF-26329-AK"
    assert "maker answers" in pdf.get_metadata_value("Subject")


def test_statements_are_read_in_the_order_of_their_weight(tmp_path: Path) -> None:
    """Name, what it is, the list, the weight: a voice reads them in a sensible order."""
    page = _print(tmp_path / "l.pdf", "panel", "a4-2x4", _wording("us-soap"))[0]
    text = page.get_textpage().get_text_range()
    places = [text.index(word) for word in ("Driftwood", "SOAP", "INGREDIENTS", "Net Wt")]
    assert places == sorted(places)


@pytest.mark.parametrize(("face", "sheet"), CASES)
def test_every_font_is_embedded_and_subset(face: str, sheet: str, tmp_path: Path) -> None:
    """PDFium hands out the font's own bytes, and each base font name has a subset tag."""
    pdf = _print(tmp_path / "l.pdf", face, sheet, _wording("us-soap"))
    raw = pypdfium2.raw
    names = set()
    for thing in pdf[0].get_objects(filter=[raw.FPDF_PAGEOBJ_TEXT], max_depth=3):
        font = raw.FPDFTextObj_GetFont(thing.raw)
        assert raw.FPDFFont_GetIsEmbedded(font) == 1
        buffer = ctypes.create_string_buffer(200)
        raw.FPDFFont_GetBaseFontName(font, buffer, 200)
        names.add(buffer.value.decode())
    assert names
    assert all(re.match(r"[A-Z]{6}\+|SourceS(ans|erif)Pro|Fjalla", name) for name in names)
    assert (tmp_path / "l.pdf").stat().st_size < 60_000  # a whole face alone is over 200 KB
