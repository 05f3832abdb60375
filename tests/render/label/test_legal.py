"""The law's type heights bound what is printed; measured in the PDF by glyph outline."""

from __future__ import annotations

import ctypes
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from pathlib import Path

import pypdfium2
import pytest

from soapstock.errors import RuleBroken
from soapstock.labelling.wording import LabelWording
from soapstock.render.label.designs import load_face, load_sheet
from soapstock.render.label.legal import law_of
from soapstock.render.label.run import LabelJob, PrintResult, write_labels

MakeWording = Callable[..., LabelWording]
DAY = date(2026, 11, 25)
FULL = [("band", "a4-1x4"), ("panel", "a4-2x4"), ("panel", "roll-100x60"), ("tag", "a4-4x2")]

BIG = [("band", "a4-1x4"), ("panel", "letter-2x3")]  # Canada asks for 1.6 mm in every statement


def _for(wording: MakeWording, market: str) -> LabelWording:
    net = "113 g" if market in ("eu", "uk") else "Net Wt 3.98 oz (113 g)"
    return replace(wording(net_weight=net), market=market, on=DAY, nominal_g=113.0)


def _print(
    path: Path, words: LabelWording, face: str, sheet: str, folders: list[Path]
) -> PrintResult:
    return write_labels(
        path,
        [LabelJob(wording=words, copies=1)],
        face=load_face(face, folders),
        sheet=load_sheet(sheet, folders),
        title="x",
    )


def _height_mm(path: Path, text: str, char: str) -> float:
    """Height of the outline of a character in the first place the text stands, mm."""
    page = pypdfium2.PdfDocument(path)[0].get_textpage()
    start = page.get_text_range().index(text)
    _, bottom, _, top = page.get_charbox(start + text.index(char))
    return float(top - bottom) / 72 * 25.4


@pytest.mark.parametrize("market", ["us-soap", "us-cosmetic"])
@pytest.mark.parametrize(("face", "sheet"), FULL)
def test_the_net_weight_is_an_eighth_of_an_inch_high(
    market: str, face: str, sheet: str, wording: MakeWording, folders: list[Path], tmp_path: Path
) -> None:
    """Fronts of 5 to 25 sq in: the lower-case o is 3.175 mm or more (16 CFR 500.21(b))."""
    path = tmp_path / "l.pdf"
    _print(path, _for(wording, market), face, sheet, folders)
    assert _height_mm(path, "oz", "o") >= 3.175


@pytest.mark.parametrize("market", ["eu", "uk"])
@pytest.mark.parametrize(("face", "sheet"), FULL)
def test_the_figures_of_113_g_are_three_mm_high(
    market: str, face: str, sheet: str, wording: MakeWording, folders: list[Path], tmp_path: Path
) -> None:
    """Over 50 up to 200 g: 3 mm (Directive 76/211/EEC Annex I 3.1)."""
    path = tmp_path / "l.pdf"
    _print(path, _for(wording, market), face, sheet, folders)
    assert _height_mm(path, "113 g", "1") >= 3.0


def test_a_cosmetics_list_on_a_big_package_is_a_sixteenth_of_an_inch_high(
    wording: MakeWording, folders: list[Path], tmp_path: Path
) -> None:
    """12 sq in and more of surface: 1/16 inch, 1.5875 mm (21 CFR 701.3(b))."""
    path = tmp_path / "l.pdf"
    _print(path, _for(wording, "us-cosmetic"), "band", "a4-1x4", folders)
    assert _height_mm(path, "Adeps Bovis", "o") >= 1.5875


def test_every_statement_of_every_face_is_at_least_its_rules_height(
    wording: MakeWording, folders: list[Path], tmp_path: Path
) -> None:
    """The sizes reported are never under the least, and each names its rule."""
    for market in ("us-soap", "us-cosmetic", "eu", "uk", "ca"):
        for face, sheet in BIG if market == "ca" else FULL:
            result = _print(tmp_path / "l.pdf", _for(wording, market), face, sheet, folders)
            assert result.sizes
            for note in result.sizes:
                assert note.letter_mm >= note.least_mm - 1e-9, (market, face, note)
                assert note.rule


def test_a_bigger_side_of_the_package_asks_for_bigger_type(
    wording: MakeWording, folders: list[Path]
) -> None:
    """The law goes by the package's panel: 25 sq in (161.29 cm2) is 1/8 in, more is 3/16 in."""
    face = load_face("panel", folders)
    words = _for(wording, "us-soap")

    def least(panel_cm2: float) -> float:
        law = law_of(words, face, width_mm=99, height_mm=67, panel_cm2=panel_cm2)
        return law.needs["net_weight"].mm

    assert (least(161.29), least(161.30)) == (3.2, 4.8)


def test_type_too_big_for_the_label_is_refused_with_mends(
    wording: MakeWording, folders: list[Path], tmp_path: Path
) -> None:
    """A large package's net weight does not fit this label: refused, with what to do."""
    with pytest.raises(RuleBroken, match="the net weight needs") as caught:
        write_labels(
            tmp_path / "l.pdf",
            [LabelJob(wording=_for(wording, "us-soap"), copies=1, panel_cm2=700.0)],
            face=load_face("panel", folders),
            sheet=load_sheet("roll-100x60", folders),
            title="x",
        )
    assert "mm more" in caught.value.hint
    assert "tag" in caught.value.hint
    assert not list(tmp_path.iterdir())


HIGH = """
about = "x"
width_mm = 90
height_mm = 60
partial = true
[[blocks]]
draws = "text"
holds = ["net_weight"]
size_pt = 19
left_mm = 2
right_mm = 2
top_mm = 20
height_mm = 8
"""


def test_a_net_weight_above_the_lowest_third_is_refused(
    wording: MakeWording, tmp_path: Path, folders: list[Path]
) -> None:
    """Bottom 30 % of the panel, when it is over 5 sq in (16 CFR 500.6(b)); not asked in the EU."""
    (tmp_path / "faces").mkdir()
    (tmp_path / "faces" / "high.toml").write_text(HIGH, encoding="utf-8")
    face, sheet = load_face("high", [tmp_path]), load_sheet("roll-100x60", folders)
    out = tmp_path / "l.pdf"
    job = LabelJob(wording=_for(wording, "us-soap"), copies=1)
    with pytest.raises(RuleBroken, match=r"above the lowest 30 %.*500\.6"):
        write_labels(out, [job], face=face, sheet=sheet, title="x")
    job = LabelJob(wording=_for(wording, "eu"), copies=1)
    write_labels(out, [job], face=face, sheet=sheet, title="x")


def _font_of(path: Path, text: str) -> str:
    """Name of the font in which the first letter of a text stands on the page."""
    page = pypdfium2.PdfDocument(path)[0].get_textpage()
    name = ctypes.create_string_buffer(200)
    at = page.get_text_range().index(text)
    pypdfium2.raw.FPDFText_GetFontInfo(page, at, name, len(name), ctypes.c_int(0))
    return name.value.decode()


@pytest.mark.parametrize(
    ("market", "semibold"), [("us-cosmetic", True), ("us-soap", False), ("eu", False)]
)
def test_the_identity_of_a_cosmetic_is_bold_though_the_face_sets_it_light(
    market: str, semibold: bool, wording: MakeWording, folders: list[Path], tmp_path: Path
) -> None:
    """21 CFR 701.11 asks for bold type; where no law does, the face decides."""
    path = tmp_path / "l.pdf"
    words = _for(wording, market)
    done = _print(path, words, "panel", "letter-2x3", folders)
    identity = next(s.text for s in words.statements if s.kind == "identity")
    assert ("Semibold" in _font_of(path, f"{identity.upper()}\r\n")) is semibold
    rule = next(note.rule for note in done.sizes if note.kind == "identity")
    assert ("bold type by 21 CFR 701.11" in rule) is semibold


# 16 CFR 500.6(a), 21 CFR 701.13(e), CPLR C.R.C. c. 417 s. 14: the net weight stands on the
# principal display panel, which a front sticker is. A front of 53 cm2 asks for 1/8 in or 3.2 mm.
@pytest.mark.parametrize("market", ["us-soap", "us-cosmetic", "ca"])
def test_a_round_front_carries_the_net_weight(
    market: str, wording: MakeWording, folders: list[Path], tmp_path: Path
) -> None:
    """It had none, and its label sent the maker to another side, which these laws do not allow."""
    path = tmp_path / "l.pdf"
    words = _for(wording, market)
    result = write_labels(
        path,
        [LabelJob(wording=words, copies=1, panel_cm2=53.4)],
        face=load_face("round", folders),
        sheet=load_sheet("letter-3x4-round", folders),
        title="x",
    )
    assert not any("net weight" in one for one in result.warnings)
    assert _height_mm(path, "oz", "o") >= 3.175


@pytest.mark.parametrize(
    ("market", "where"),
    [
        ("us-soap", "on the front of the package, its principal display panel (16 CFR 500.6)"),
        ("us-cosmetic", "principal display panel (21 CFR 701.13(e))"),
        ("ca", "principal display panel (CPLR C.R.C. c. 417 s. 14(2))"),
        ("eu", "elsewhere on the package"),
    ],
)
def test_a_face_without_the_net_weight_says_where_it_belongs(
    market: str, where: str, wording: MakeWording, folders: list[Path], tmp_path: Path
) -> None:
    """In the EU and Great Britain anywhere on the label, in America on the front alone."""
    result = _print(tmp_path / "l.pdf", _for(wording, market), "lot", "a4-3x8", folders)
    (told,) = [one for one in result.warnings if "net weight" in one]
    assert where in told
