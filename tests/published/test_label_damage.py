"""Codes on rendered labels, read by an independent decoder after what happens to labels.

Source: ISO/IEC 18004 (QR), ISO/IEC 15420 (EAN/UPC) and ISO/IEC 15417 (Code 128) as implemented by
the zxing-cpp library; pages rendered by PDFium. Resolutions are those of the two usual label
printers. The damage (blur, 5 % of pixels flipped, 7 degrees of turn, a white crease) is our own
choice.
"""

from __future__ import annotations

from datetime import date
from math import cos, radians, sin
from pathlib import Path

import numpy as np
import pypdfium2
import pytest
import zxingcpp
from PIL import Image, ImageDraw, ImageFilter

from soapstock.labelling.wording import LabelWording, Statement
from soapstock.render.label.designs import load_face, load_sheet
from soapstock.render.label.run import LabelJob, write_labels
from soapstock.render.pdf.barcode import codes_for

FOLDERS = [Path(__file__).parents[2] / "labels"]
LOT = "DRF26329AK"
TEXTS = [
    LOT,
    f"https://heronwick.example/lot/{LOT}",
    f"https://heronwick.example/01/06291041500213/10/{LOT}",
]
GTIN = "6291041500213"  # worked example of GS1 Hong Kong's check-digit page
FACES = ["band", "panel", "tag", "round-back", "oval-back", "box", "lot", "slip"]
# every face at the worse of the two resolutions, and one at both
PRINTED = [*((face, 203) for face in FACES), ("band", 300)]


def _blur(picture: Image.Image) -> Image.Image:
    return picture.filter(ImageFilter.GaussianBlur(1.0))


def _noise(picture: Image.Image) -> Image.Image:
    pixels = np.array(picture)
    flipped = np.random.default_rng(7).random(pixels.shape) < 0.05
    pixels[flipped] = 255 - pixels[flipped]
    return Image.fromarray(pixels)


def _turn(picture: Image.Image) -> Image.Image:
    return picture.rotate(7, expand=True, fillcolor=255, resample=Image.Resampling.BICUBIC)


def _whole(picture: Image.Image) -> Image.Image:
    return picture


DAMAGE = {"whole": _whole, "blur": _blur, "noise": _noise, "turn": _turn}


def _wording(qr_text: str) -> LabelWording:
    texts = {
        "name": "Driftwood",
        "net_weight": "Net Wt 3.98 oz (113 g)",
        "lot": f"Lot {LOT}",
        "best_before": "Best before 25 May 2028",
    }
    return LabelWording(
        statements=tuple(
            Statement(kind=kind, text=text, rule="x", required=False)  # type: ignore[arg-type]
            for kind, text in texts.items()
        ),
        lot_code=LOT,
        qr_text=qr_text,
        cautions=(),
    )


def _label(
    face_name: str, qr_text: str, dpi: int, folder: Path, sheet_name: str = ""
) -> Image.Image:
    """The first label of the face on its first sheet, as printed at that resolution, in grey."""
    face = load_face(face_name, FOLDERS)
    sheet = load_sheet(sheet_name or face.suits[0], FOLDERS)
    job = LabelJob(
        wording=_wording(qr_text), copies=1, codes=codes_for(GTIN, LOT, date(2028, 5, 25))
    )
    path = folder / "l.pdf"
    write_labels(path, [job], face=face, sheet=sheet, title="x")
    picture = pypdfium2.PdfDocument(path)[0].render(scale=dpi / 72).to_pil().convert("L")
    cell, dots = sheet.cell(0), dpi / 25.4
    return picture.crop(
        (
            int(cell.left * dots),
            int(cell.top * dots),
            int(cell.right * dots),
            int(cell.bottom * dots),
        )
    )


def _gives(picture: Image.Image, text: str) -> bool:
    """Whether the decoder finds the text, in the picture as it is or once smoothed."""
    return any(
        text in (code.text for code in zxingcpp.read_barcodes(taken()))
        for taken in (lambda: picture, lambda: picture.filter(ImageFilter.MedianFilter(3)))
    )


def _read(picture: Image.Image) -> dict[str, str]:
    # Denoising as any camera does: the decoder is given the picture as it is and once smoothed.
    found: dict[str, str] = {}
    for taken in (picture, picture.filter(ImageFilter.MedianFilter(3))):
        found |= {str(code.format): code.text for code in zxingcpp.read_barcodes(taken)}
    return found


@pytest.mark.parametrize("text", TEXTS)
@pytest.mark.parametrize(("face", "dpi"), PRINTED)
def test_the_qr_code_of_every_face_survives(face: str, text: str, dpi: int, tmp_path: Path) -> None:
    """Blurred, speckled or turned, the code gives its text back."""
    picture = _label(face, text, dpi, tmp_path)
    assert [name for name, harm in DAMAGE.items() if not _gives(harm(picture), text)] == []


# Angle in degrees and where the fold crosses the code, as share of its side. Folds along the
# diagonal and slanting ones through two of the three corner marks defeat this decoder at any level:
# it cannot find the code any more. They are left out, and nothing is promised about them.
FOLDS = [
    *((angle, at) for angle in (0, 90) for at in (0.3, 0.4, 0.5, 0.6, 0.7)),
    *((8, 0.5), (98, 0.5), (30, 0.6), (60, 0.4), (45, 0.3), (45, 0.7)),
]
FOLD_MM = 0.5


def _code_of(picture: Image.Image) -> Image.Image:
    """The part of a label round its code: its side again on each side, to be read sooner."""
    spot = zxingcpp.read_barcodes(picture, formats=zxingcpp.BarcodeFormat.QRCode)[0].position
    side = spot.top_right.x - spot.top_left.x
    left, top = spot.top_left.x - side, spot.top_left.y - side
    return picture.crop((max(left, 0), max(top, 0), left + 3 * side, top + 3 * side))


def _folded(picture: Image.Image, angle: float, at: float, dpi: int) -> Image.Image:
    """The picture with a white fold of 0.5 mm right across its code, quiet zones and all."""
    spot = zxingcpp.read_barcodes(picture, formats=zxingcpp.BarcodeFormat.QRCode)[0].position
    side = spot.top_right.x - spot.top_left.x
    across, along = sin(radians(angle)), cos(radians(angle))
    x = (spot.top_right.x + spot.bottom_left.x) / 2 - across * (at - 0.5) * side
    y = (spot.top_right.y + spot.bottom_left.y) / 2 + along * (at - 0.5) * side
    ends = [(x + way * along * side, y + way * across * side) for way in (-1, 1)]
    folded = picture.copy()
    ImageDraw.Draw(folded).line(ends, fill=255, width=round(FOLD_MM * dpi / 25.4))
    return folded


@pytest.mark.parametrize("text", TEXTS)
@pytest.mark.parametrize(("face", "dpi"), PRINTED)
def test_the_qr_code_of_every_face_survives_a_crease_and_blur(
    face: str, text: str, dpi: int, tmp_path: Path
) -> None:
    """A white fold of 0.5 mm through the code is mended by error correction, sharp or blurred."""
    picture = _code_of(_label(face, text, dpi, tmp_path))
    folded = [_folded(picture, angle, at, dpi) for angle, at in FOLDS]
    read = [_gives(each, text) and _gives(_blur(each), text) for each in folded]
    assert [fold for fold, good in zip(FOLDS, read, strict=True) if not good] == []


def test_a_bands_code_is_read_creased_and_out_of_focus(tmp_path: Path) -> None:
    """A blur of 2 pixels at 200 dots to the inch, 0.25 mm: its modules are 0.53 mm.

    One fold of the sixteen may be too much on top of that.
    """
    picture = _label("band", TEXTS[1], 200, tmp_path)
    taken = [picture, *(_folded(picture, angle, at, 200) for angle, at in FOLDS)]
    blurred = [each.filter(ImageFilter.GaussianBlur(2.0)) for each in taken]
    read = [TEXTS[1] in _read(each).values() for each in blurred]
    assert read[0]
    assert read[1:].count(False) <= 1


@pytest.mark.parametrize("damage", ["noise", "turn"])
@pytest.mark.parametrize("dpi", [203, 300])
@pytest.mark.parametrize("face", FACES)
def test_a_creased_code_may_be_speckled_or_turned_too(
    face: str, dpi: int, damage: str, tmp_path: Path
) -> None:
    """The lot code's own link, folded straight across its middle."""
    picture = _folded(_label(face, TEXTS[1], dpi, tmp_path), 0, 0.5, dpi)
    assert TEXTS[1] in _read(DAMAGE[damage](picture)).values()


@pytest.mark.parametrize("sheet", ["roll-100x60", "roll-100x60-300dpi"])
@pytest.mark.parametrize("text", TEXTS)
def test_a_roll_printers_code_survives_a_crease(text: str, sheet: str, tmp_path: Path) -> None:
    """With modules of whole dots, at the roll's own resolution."""
    dpi = load_sheet(sheet, FOLDERS).dpi
    picture = _label("panel", text, dpi, tmp_path, sheet)
    for angle, at in FOLDS:
        assert text in _read(_folded(picture, angle, at, dpi)).values(), (angle, at)


def test_the_shipping_box_carries_gtin_best_before_and_lot(tmp_path: Path) -> None:
    """GS1-128 read back: identifiers 01, 15 and 10 and values (GS1 General Specifications)."""
    codes = zxingcpp.read_barcodes(_label("box", LOT, 300, tmp_path))
    gs1 = next(code for code in codes if code.format == zxingcpp.BarcodeFormat.Code128)
    assert gs1.text == "(01)06291041500213(15)280525(10)DRF26329AK"
    assert gs1.symbology_identifier == "]C1"


RETAIL = """
about = "x"
width_mm = 96
height_mm = 58
[[blocks]]
draws = "barcode"
holds = ["retail"]
left_mm = 5
width_mm = 45
top_mm = 5
height_mm = 25
"""


@pytest.mark.parametrize(
    ("gtin", "kind"),
    [(GTIN, zxingcpp.BarcodeFormat.EAN13), ("012345678905", zxingcpp.BarcodeFormat.UPCA)],
)
@pytest.mark.parametrize("dpi", [203, 300])
def test_a_retail_barcode_is_read(
    gtin: str, kind: zxingcpp.BarcodeFormat, dpi: int, tmp_path: Path
) -> None:
    """Thirteen digits as EAN-13, twelve as UPC-A (GS1 General Specifications)."""
    (tmp_path / "faces").mkdir()
    (tmp_path / "faces" / "retail.toml").write_text(RETAIL, encoding="utf-8")
    path = tmp_path / "l.pdf"
    write_labels(
        path,
        [LabelJob(wording=_wording(LOT), copies=1, codes=codes_for(gtin, LOT))],
        face=load_face("retail", [tmp_path]),
        sheet=load_sheet("roll-100x60", FOLDERS),
        title="x",
    )
    picture = pypdfium2.PdfDocument(path)[0].render(scale=dpi / 72).to_pil()
    codes = zxingcpp.read_barcodes(picture, formats=kind)
    assert [code.text for code in codes] == [gtin.zfill(13)]
