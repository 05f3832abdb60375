"""Lists of designs, mixed runs from a list, proofs."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pypdfium2
import pytest
import zxingcpp

from soapstock.codes.reading import read_code
from soapstock.desk.desk import Desk, open_desk
from soapstock.errors import BadInput, NotFound, RuleBroken
from soapstock.labelling.front import front_of
from soapstock.papers.designs import designs_for, face_rows, folders_of, parse_offset, sheet_rows
from soapstock.papers.labels import Wanted, print_labels, print_run, read_list
from soapstock.papers.proofs import layout_of
from soapstock.recipes.bars import Brick, Cylinder
from soapstock.render.label.designs import list_faces
from soapstock.render.label.proofs import proof_text
from soapstock.upkeep.demo import DEMO_DAY, _noon
from soapstock.views.label import LabelText, label_text
from tests.conftest import CHECKOUT

PROOFS = CHECKOUT / "labels" / "proofs" / "faces"
FACES = list_faces(folders_of(None))


@pytest.fixture
def opened(demo_once: Path) -> Iterator[Desk]:
    """The demo shop on its day."""
    with open_desk(demo_once, today=DEMO_DAY, now=_noon(DEMO_DAY), by="tester") as desk:
        yield desk


def _lots(desk: Desk, number: int) -> list[str]:
    with desk.ledger.read() as reader:
        return [batch.lot_code for batch in reader.batches()][:number]


@pytest.mark.parametrize("face", FACES)
def test_every_face_looks_as_its_kept_proof(face: str, opened: Desk, update_golden: bool) -> None:
    """Words, places and sizes equal labels/proofs/faces; refresh with `soapstock design proofs`."""
    lot = _lots(opened, 1)[0]
    chosen, sheet = designs_for(opened, face, None)
    made = proof_text(layout_of(opened, label_text(opened, lot), chosen, sheet))
    kept = PROOFS / f"{face}.txt"
    if update_golden:
        kept.write_text(made, encoding="utf-8")
    assert kept.read_text(encoding="utf-8") == made
    assert kept.with_suffix(".png").is_file()


def test_a_run_of_two_lots_is_printed_on_one_sheet(opened: Desk, tmp_path: Path) -> None:
    """The second lot begins where the first ends."""
    one, two = _lots(opened, 2)
    path = tmp_path / "list.csv"
    path.write_text(f"lot,copies\n{one},2\n\n{two.lower()},3\n", encoding="utf-8")
    face, sheet = designs_for(opened, "panel", "letter-2x3")
    out = tmp_path / "l.pdf"
    result = print_run(opened, read_list(path), out, face=face, sheet=sheet)
    assert (result.labels, result.pages) == (5, 1)
    text = pypdfium2.PdfDocument(out)[0].get_textpage().get_text_bounded()
    assert text.count("Net Wt") == 5


def test_a_run_words_each_lot_once(
    opened: Desk, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """However often it stands in the list: wording it is the dear part."""
    one, two = _lots(opened, 2)
    path = tmp_path / "list.csv"
    path.write_text("lot,copies\n" + f"{one},1\n{two},1\n" * 20, encoding="utf-8")
    worded: list[str] = []

    def counted(desk: Desk, lot: str) -> LabelText:
        worded.append(lot)
        return label_text(desk, lot)

    monkeypatch.setattr("soapstock.papers.labels.label_text", counted)
    face, sheet = designs_for(opened, "panel", "letter-2x3")
    result = print_run(opened, read_list(path), tmp_path / "l.pdf", face=face, sheet=sheet)
    assert result.labels == 40
    assert worded == [one, two]


def test_a_lot_in_the_list_that_is_unknown_is_named_with_its_line(
    opened: Desk, tmp_path: Path
) -> None:
    """File, line and lot; nothing is printed."""
    path = tmp_path / "list.csv"
    path.write_text(f"lot,copies\n{_lots(opened, 1)[0]},1\nDRF-20001-AK,1\n", encoding="utf-8")
    face, sheet = designs_for(opened, "panel", None)
    with pytest.raises((BadInput, NotFound), match=r"list\.csv:3: "):
        print_run(
            opened, read_list(path), tmp_path / "l.pdf", face=face, sheet=sheet, where=str(path)
        )
    assert not (tmp_path / "l.pdf").exists()


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("lots,copies\nX,1\n", r":1: the columns are not lot,copies"),
        ("lot,copies\nDRF26241AZ,none\n", r":2: copies 'none'"),
        ("lot,copies\nDRF26241AZ,0\n", r":2: copies '0'"),
        ("lot,copies\nDRF26241AZ,-3\n", r":2: copies '-3'"),
        ("lot,copies\nDRF26241AZ\n", r":2: a line is a lot and its copies"),
        ('lot,copies\nDRF26241AZ,"3\n', r":2: .*check|:2: unexpected end"),
        ("lot,copies\n", r"has 0 lots"),
    ],
)
def test_a_wrong_list_names_file_and_line(text: str, fault: str, tmp_path: Path) -> None:
    """Each slip is told where it stands."""
    path = tmp_path / "list.csv"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(BadInput, match=fault):
        read_list(path)


def test_a_list_may_hold_as_many_lots_as_a_run_and_no_more(tmp_path: Path) -> None:
    """5,000 labels are the most in one run; a slip of file is refused."""
    path = tmp_path / "list.csv"
    path.write_text("lot,copies\n" + "DRF26241AZ,1\n" * 5_000, encoding="utf-8")
    assert len(read_list(path)) == 5_000
    path.write_text("lot,copies\n" + "DRF26241AZ,1\n" * 5_001, encoding="utf-8")
    with pytest.raises(BadInput, match="5001 lots"):
        read_list(path)


def test_a_list_that_is_not_there_is_said(tmp_path: Path) -> None:
    """A mistyped path."""
    with pytest.raises(NotFound, match="no list"):
        read_list(tmp_path / "no.csv")


def test_an_offset_is_two_numbers() -> None:
    """Right and down, in mm; anything else is refused."""
    assert parse_offset("1.5,-0.5") == (1.5, -0.5)
    for text in ("1", "a,b", "1,2,3", ""):
        with pytest.raises(BadInput, match="not understood"):
            parse_offset(text)


def _first_letter_pt(path: Path) -> tuple[float, float]:
    """Left and lower edge of the first letter on the first page, points."""
    left, low, _, _ = pypdfium2.PdfDocument(path)[0].get_textpage().get_charbox(0)
    return left, low


def test_more_labels_than_bars_are_printed_and_said(opened: Desk, tmp_path: Path) -> None:
    """By both commands; as many as there are bars, or fewer, are nothing to speak of."""
    lot = _lots(opened, 1)[0]
    label = label_text(opened, lot)
    face, sheet = designs_for(opened, "panel", None)
    for copies in (label.item.bars, label.item.bars + 1):
        path = tmp_path / "l.pdf"
        one = print_labels(opened, label, path, face="panel", copies=copies)
        wanted = [Wanted(lot=lot, copies=copies, line=0)]
        run = print_run(opened, wanted, path, face=face, sheet=sheet)
        for result in (one, run):
            said = f"{copies} labels for {label.item.bars} bars in hand" in str(result.warnings)
            assert said == (copies > label.item.bars)


@pytest.mark.parametrize(
    ("kept", "given", "shift_mm"),
    [((1.5, -0.5), None, (1.5, -0.5)), ((1.5, -0.5), (0.0, 2.0), (0.0, 2.0))],
)
@pytest.mark.parametrize("command", ["label", "label-run"])
def test_print_is_shifted_by_the_shops_offset_unless_another_is_given(
    command: str,
    kept: tuple[float, float],
    given: tuple[float, float] | None,
    shift_mm: tuple[float, float],
    opened: Desk,
    tmp_path: Path,
) -> None:
    """Measured by an independent reader (PDFium): right and down, in mm."""
    lot = _lots(opened, 1)[0]
    spots = []
    for shop in (opened.shop, replace(opened.shop, printer_offset_mm=kept)):
        desk, path = replace(opened, shop=shop), tmp_path / "l.pdf"
        offset = given if shop is not opened.shop else None
        if command == "label":
            text = label_text(desk, lot)
            print_labels(desk, text, path, face="panel", copies=1, offset_mm=offset)
        else:
            face, sheet = designs_for(desk, "panel", None)
            one = [Wanted(lot=lot, copies=1, line=0)]
            print_run(desk, one, path, face=face, sheet=sheet, offset_mm=offset)
        spots.append(_first_letter_pt(path))
    (x, y), (shifted_x, shifted_y) = spots
    assert (shifted_x - x) / 72 * 25.4 == pytest.approx(shift_mm[0], abs=0.01)
    assert (y - shifted_y) / 72 * 25.4 == pytest.approx(shift_mm[1], abs=0.01)


def test_the_lists_name_faces_and_sheets() -> None:
    """Twelve sheet geometries or more, and faces that say whether they are a whole label."""
    faces = {row.face: row for row in face_rows(folders_of(None))}
    assert faces["panel"].whole_label
    assert not faces["round"].whole_label
    assert len(sheet_rows(folders_of(None))) >= 12


def test_the_front_of_a_bar_is_its_largest_side() -> None:
    """A brick of 90 x 60 x 25 mm: front 54 cm2, surface 183 cm2."""
    brick = Brick(length_mm=90, width_mm=60, height_mm=25)
    assert front_of(brick) == (pytest.approx(54.0), pytest.approx(183.0))


def test_the_front_of_a_round_bar_is_its_top_or_two_fifths_of_its_wall() -> None:
    """3 in high, 7.5 in round: 0.40 x 22.5 = 9.0 sq in, 58.06 cm2 (16 CFR 500.21(a)(2))."""
    high = Cylinder(diameter_mm=190.5 / 3.141592653589793, height_mm=76.2)
    assert front_of(high)[0] == pytest.approx(58.06, abs=0.01)
    flat = Cylinder(diameter_mm=80, height_mm=20)
    assert front_of(flat)[0] == pytest.approx(50.27, abs=0.01)


def test_without_a_bar_the_face_speaks_for_itself() -> None:
    """A recipe without a bar's shape."""
    assert front_of(None) == (None, None)


@pytest.mark.parametrize("face", ["panel", "band"])
def test_every_lot_of_the_demo_is_read_back_from_its_printed_label(
    face: str, opened: Desk, tmp_path: Path
) -> None:
    """Decoded by an independent reader (zxing-cpp) and understood as that lot by `scan`."""
    chosen, sheet = designs_for(opened, face, None)
    out, read, refused = tmp_path / "l.pdf", 0, 0
    for lot in _lots(opened, 99):
        try:
            print_run(opened, [Wanted(lot=lot, copies=1, line=0)], out, face=chosen, sheet=sheet)
        except RuleBroken:  # rejected lots and bars too light for their weight get no label
            refused += 1
            continue
        picture = pypdfium2.PdfDocument(out)[0].render(scale=300 / 72).to_numpy()
        assert [read_code(code.text) for code in zxingcpp.read_barcodes(picture)] == [lot]
        read += 1
    assert read >= 8
    assert refused <= 3
