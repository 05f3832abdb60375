"""Heights, place and clear space of what the law asks for, measured from the PDF's own glyphs.

Sources: 16 CFR 500.21(b) and 21 CFR 701.13(i) (net quantity at least 1/8 inch on a panel of over 5
to 25 square inches, 1/16 inch to 5 square inches; the height of the lower-case o where both cases
are used); 16 CFR 500.6(b) and 21 CFR 701.13(f) (lowest 30 % of the panel; free of print above and
below by the height of its lettering); 21 CFR 701.3(b) (list 1/16 inch); Directive 76/211/EEC Annex
I point 3.1 (figures 3 mm over 50 to 200 g); ISO/IEC 18004 (quiet zone of 4 modules). The glyphs
are read by PDFium, which shares no code with the library that makes the files.
"""

from __future__ import annotations

import ctypes
from dataclasses import replace
from itertools import product
from pathlib import Path

import numpy as np
import pypdfium2
import pytest

from soapstock.errors import RuleBroken
from soapstock.labelling.wording import LabelWording
from soapstock.recipes.ink import Ink, contrast, parse_ink
from soapstock.render.label.designs import MOODS, Mood, list_faces, load_face, load_sheet
from soapstock.render.label.items import QrItem
from soapstock.render.label.look import Look
from soapstock.render.label.run import LabelJob, layout_of, write_labels
from tests.published.test_label_pdf import FOLDERS, _wording

MARKETS = ["us-soap", "us-cosmetic", "eu"]
MM_PER_PT = 25.4 / 72
IN8, IN16 = 25.4 / 8, 25.4 / 16
HAIR_MM = 0.03  # a glyph's own round-over, and the outline that thickens the condensed face
# Faces with the net weight on a front that the rules of the panel bind.
FRONTS = ("band", "panel", "tag", "round", "oval", "strip")
INK = Ink("#2f4a50")
LOOK = {
    mood: Look(
        ink=INK,
        mood=mood,
        fats=(520.0, 270.0, 180.0),
        weighed=((1, 131.0), (8, 126.0), (22, 121.5), (36, 120.0)),
    )
    for mood in MOODS
}
CODED = [
    name
    for name in list_faces(FOLDERS)
    if any(block.draws == "qr" for block in load_face(name, FOLDERS).blocks)
]
# A responsible person beside a list of twelve: refused, not shrunk.
REFUSED = {("strip", "eu")}


def _page(path: Path, face: str, words: LabelWording, look: Look) -> pypdfium2.PdfPage:
    chosen = load_face(face, FOLDERS)
    sheet = load_sheet(chosen.suits[0], FOLDERS)
    job = LabelJob(wording=words, copies=1, look=look)
    write_labels(path, [job], face=chosen, sheet=sheet, title="x")
    return pypdfium2.PdfDocument(path)[0]


def _glyphs(page: pypdfium2.PdfPage, words: str) -> list[tuple[str, float, float]]:
    """Each letter of the words with its glyph's bottom and top, mm above the foot of the paper."""
    text = page.get_textpage()
    said = text.get_text_range()
    flat, places = "", []
    for number, char in enumerate(said):
        if not char.isspace():
            flat += char
            places.append(number)
    start = flat.index("".join(words.split()))
    found = []
    for offset in range(len("".join(words.split()))):
        box = text.get_charbox(places[start + offset], loose=False)
        found.append((flat[start + offset], box[1] * MM_PER_PT, box[3] * MM_PER_PT))
    return found


@pytest.mark.parametrize("mood", MOODS)
@pytest.mark.parametrize("market", MARKETS)
@pytest.mark.parametrize("face", FRONTS)
def test_the_net_weight_stands_as_high_and_as_low_as_the_law_asks(
    face: str, market: str, mood: Mood, tmp_path: Path
) -> None:
    """Its letters' height, and its top within the lowest 30 % of the front."""
    words = _wording(market)
    if (face, market) in REFUSED:
        with pytest.raises(RuleBroken, match="smallest type allowed"):
            _page(tmp_path / "l.pdf", face, words, LOOK[mood])
        return
    page = _page(tmp_path / "l.pdf", face, words, LOOK[mood])
    glyphs = _glyphs(page, words.text("net_weight"))
    chosen = load_face(face, FOLDERS)
    sheet = load_sheet(chosen.suits[0], FOLDERS)
    job = LabelJob(wording=words, copies=1, look=LOOK[mood])
    layout = layout_of(job, chosen, sheet)
    cell = sheet.cell(0)
    if market == "eu":
        assert min(top - low for char, low, top in glyphs if char in "13") >= 3.0 - HAIR_MM
        return
    panel = chosen.display_rect(cell)
    small = 1.5708 / 2 * panel.width * panel.height < 5 * 645.16  # an ellipse; 5 square inches
    least = IN16 if small and chosen.shape != "rectangle" else IN8
    letters = [top - low for char, low, top in glyphs if char in "oz"]
    assert min(letters) >= least - HAIR_MM
    foot = sheet.paper_height_mm - cell.bottom + (cell.height - layout.height_mm) / 2
    tall = (
        layout.height_mm if not chosen.panels or panel.height > layout.height_mm else panel.height
    )
    assert max(top for _, _, top in glyphs) <= foot + 0.3 * tall + HAIR_MM


@pytest.mark.parametrize("mood", MOODS)
@pytest.mark.parametrize("face", ["band", "panel"])
def test_a_cosmetics_list_is_a_sixteenth_of_an_inch_high(
    face: str, mood: Mood, tmp_path: Path
) -> None:
    """The height of its lower-case letters without a stroke above the rest (21 CFR 701.3(b))."""
    words = _wording("us-cosmetic")
    page = _page(tmp_path / "l.pdf", face, words, LOOK[mood])
    body = words.text("ingredients").partition(":")[2].strip()
    assert min(t - b for char, b, t in _glyphs(page, body) if char in "oaens") >= IN16 - HAIR_MM


@pytest.mark.parametrize("face", CODED)
def test_a_code_is_black_on_white_with_four_modules_round_it(face: str, tmp_path: Path) -> None:
    """The picture of its square, in the mood with grounds: no tint, and the quiet zone white."""
    chosen, mood = load_face(face, FOLDERS), "tinted"
    sheet = load_sheet(chosen.suits[0], FOLDERS)
    words = _wording("us-soap")
    layout = layout_of(LabelJob(wording=words, copies=1, look=LOOK[mood]), chosen, sheet)
    codes = [item for item in layout.items if isinstance(item, QrItem)]
    assert codes or face == "slip"
    page = _page(tmp_path / "l.pdf", face, words, LOOK[mood])
    dots = 200 / 25.4
    picture = np.asarray(page.render(scale=200 / 72).to_pil().convert("RGB")).astype(int)
    cell = sheet.cell(0)
    for code in codes:
        left = cell.left + (cell.width - layout.width_mm) / 2 + code.ink.left
        top = cell.top + (cell.height - layout.height_mm) / 2 + code.ink.top
        side, quiet = code.plan.side_mm, 4 * code.plan.module_mm
        part = picture[
            round(top * dots) + 2 : round((top + side) * dots) - 2,
            round(left * dots) + 2 : round((left + side) * dots) - 2,
        ]
        assert int(np.ptp(part, axis=2).max()) <= 2  # grey at most: no ink, no tint
        rim = round(quiet * dots) - 4
        for edge in (part[:rim], part[-rim:], part[:, :rim], part[:, -rim:]):
            assert edge.min() > 250


@pytest.mark.parametrize("colour", ["#2f4a50", "#5a2a1e", "#000000"])
def test_an_ink_stands_out_from_its_tint_as_wcag_asks(colour: str) -> None:
    """W3C WCAG 2.2, 1.4.6: 7 to 1; its formula worked here a second time."""

    def light(value: str) -> float:
        parts = [int(value[at : at + 2], 16) / 255 for at in (1, 3, 5)]
        line = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
        return 0.2126 * line[0] + 0.7152 * line[1] + 0.0722 * line[2]

    ink = parse_ink(colour)
    found = (light(ink.tint) + 0.05) / (light(ink.colour) + 0.05)
    assert found >= 7
    assert contrast(ink.colour, ink.tint) == pytest.approx(found)


def test_thermal_rolls_print_black_alone(tmp_path: Path) -> None:
    """No colour and no grey of ours reaches a roll printer, whatever the ink and mood."""
    chosen, sheet = load_face("panel", FOLDERS), load_sheet("roll-100x60", FOLDERS)
    job = LabelJob(wording=_wording("us-soap"), copies=1, look=LOOK["tinted"])
    write_labels(tmp_path / "r.pdf", [job], face=chosen, sheet=sheet, title="x")
    raw = pypdfium2.raw
    for thing in pypdfium2.PdfDocument(tmp_path / "r.pdf")[0].get_objects(max_depth=3):
        parts = [ctypes.c_uint() for _ in range(4)]
        raw.FPDFPageObj_GetFillColor(thing.raw, *parts)
        assert [part.value for part in parts[:3]] in ([0, 0, 0], [255, 255, 255])


LONG = "Winter Marsh Samphire, Bog Myrtle and Sea Buckthorn with Oat"
THIRTY = (
    "Ingredients: Beef tallow, Water, Coconut oil, Olive oil, Sodium hydroxide, Castor oil, "
    "Sunflower oil, Rice bran oil, Cocoa butter, Shea butter, Hemp oil, Sweet almond oil, "
    "Lavender oil, Kaolin clay, Oat flour, Sea salt, Goat milk, Honey, Beeswax, Rose clay, "
    "Indigo, Madder, Calendula petals, Poppy seed, Linalool, Limonene, Geraniol, Citral, "
    "Coumarin, Eugenol"
)
TOO_SMALL_FOR_THIRTY = {"oval-back", "round-back", "shelf"}


def test_a_long_name_and_thirty_ingredients_shrink_to_the_laws_least_and_no_further() -> None:
    """On every face and in each mood: laid out at no less than each least, or refused by name."""
    words = _wording("us-soap")
    changed = {"name": LONG, "ingredients": THIRTY}
    said = tuple(replace(s, text=changed.get(s.kind, s.text)) for s in words.statements)
    job = LabelJob(wording=replace(words, statements=said), copies=1)
    for face, mood in product(list_faces(FOLDERS), MOODS):
        chosen, wanted = load_face(face, FOLDERS), replace(job, look=LOOK[mood])
        sheet = load_sheet(chosen.suits[0], FOLDERS)
        if face in TOO_SMALL_FOR_THIRTY:
            with pytest.raises(RuleBroken, match=r"the ingredient list needs .* smallest type"):
                layout_of(wanted, chosen, sheet)
            continue
        for size in layout_of(wanted, chosen, sheet).sizes:
            assert size.letter_mm >= size.least_mm - 1e-6, (face, mood, size)
