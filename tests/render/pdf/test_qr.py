"""QR codes before they are on paper."""

from __future__ import annotations

import numpy as np
import pytest
import qrcode
import zxingcpp
from hypothesis import given, settings
from hypothesis import strategies as st
from qrcode.util import lost_point

from soapstock.errors import RuleBroken
from soapstock.render.pdf.qr import (
    QUIET_MODULES,
    Level,
    Matrix,
    _code,
    penalties,
    plan_qr,
    qr_matrix,
    runs,
)

LINK = "https://heronwick.example/01/06291041500213/10/DRF26329AK"
DOTS_203 = 203 / 25.4


@given(st.lists(st.lists(st.booleans(), min_size=6, max_size=6), min_size=1, max_size=8))
def test_runs_cover_exactly_the_dark_modules(rows: list[list[bool]]) -> None:
    """The joined rectangles paint every dark module once and no light one."""
    painted: list[tuple[int, int]] = []
    for column, row, columns, height in runs(tuple(tuple(r) for r in rows)):
        painted += [(column + x, row + y) for x in range(columns) for y in range(height)]
    dark = [(x, y) for y, row in enumerate(rows) for x, cell in enumerate(row) if cell]
    assert sorted(painted) == sorted(dark)


def test_a_lot_code_alone_takes_the_first_version_with_an_alignment_pattern() -> None:
    """Ten capitals fit version 1, which creases defeat: so 2, 25 modules (ISO/IEC 18004)."""
    plan = plan_qr("DRF26329AK", 15.0)
    assert (plan.level, plan.version) == ("H", 2)
    assert len(qr_matrix("DRF26329AK", plan.level, plan.version)) == 25


def test_version_1_is_taken_where_there_is_no_room_for_more() -> None:
    """25 + 8 modules of 0.375 mm make 12.4 mm."""
    assert plan_qr("DRF26329AK", 12.4).version == 2
    assert plan_qr("DRF26329AK", 12.3).version == 1


def test_a_code_too_small_for_its_modules_says_what_side_it_needs() -> None:
    """21 modules and the quiet zone of 8 at 0.33 mm make 9.6 mm."""
    assert plan_qr("DRF26329AK", 9.6).module_mm >= 0.33
    with pytest.raises(RuleBroken, match=r"needs a square of 9\.6 mm and has 9\.0 mm"):
        plan_qr("DRF26329AK", 9.0)


@pytest.mark.parametrize(
    ("side_mm", "level"), [(26.0, "H"), (25.9, "Q"), (16.9, "Q"), (16.8, "M"), (13.6, "M")]
)
def test_the_strongest_level_whose_modules_stay_sharp_is_taken(
    side_mm: float, level: Level
) -> None:
    """57 bytes: H needs version 6, Q version 5, M version 4 (ISO/IEC 18004 table 7).

    With the quiet zone 49, 45 and 41 modules: H from 25.97 mm on, at 0.53 mm; Q from 16.875 mm on,
    at 0.375 mm; M down to 0.33 mm.
    """
    plan = plan_qr(LINK, side_mm)
    assert (plan.level, plan.module_mm >= 0.33) == (level, True)


def test_on_a_roll_printer_a_module_is_a_whole_number_of_dots() -> None:
    """At 203 dots to the inch a dot is 0.125 mm: 15 mm for 33 modules gives 3 dots, 0.375 mm."""
    assert plan_qr("DRF26329AK", 15, dots_per_mm=DOTS_203).module_mm * DOTS_203 == pytest.approx(3)


@pytest.mark.parametrize(
    ("dpi", "side_mm", "level"), [(203, 18.4, "H"), (203, 17.0, "Q"), (300, 17.0, "H")]
)
def test_a_roll_printers_level_goes_by_its_dots(dpi: int, side_mm: float, level: Level) -> None:
    """Version 6 takes 49 modules: 3 dots of 203 dpi make 18.4 mm, 4 of 300 dpi 16.6 mm."""
    assert plan_qr(LINK, side_mm, dots_per_mm=dpi / 25.4).level == level


def test_no_text_and_too_much_text_are_refused() -> None:
    """One clear line each."""
    with pytest.raises(RuleBroken, match="no text"):
        plan_qr("", 20.0)
    with pytest.raises(RuleBroken, match="too long"):
        plan_qr("x" * 3000, 20.0)


@given(st.lists(st.lists(st.booleans(), min_size=25, max_size=25), min_size=25, max_size=25))
@settings(max_examples=40, deadline=None)
def test_penalties_are_those_of_the_reference_library(rows: list[list[bool]]) -> None:
    """ISO/IEC 18004:2015 section 7.8.3 as the qrcode library counts it, on any pattern."""
    assert penalties(np.array([rows]))[0] == lost_point([list(row) for row in rows])


@pytest.mark.parametrize("level", ["H", "Q", "M"])
@pytest.mark.parametrize("version", [6, 7, 10])
def test_the_code_is_the_librarys_own_with_the_least_penalty(level: Level, version: int) -> None:
    """Of the library's eight codes, one a mask, ours is the one its own count rates best."""
    made: list[Matrix] = []
    for mask in range(8):
        code = _code(LINK, level, version, mask)
        code.make(fit=False)
        made.append(tuple(tuple(bool(cell) for cell in row) for row in code.get_matrix()))
    best = min(lost_point([list(row) for row in matrix]) for matrix in made)
    ours = qr_matrix(LINK, level, version)
    assert ours in made
    assert lost_point([list(row) for row in ours]) == best


@given(st.text(st.characters(min_codepoint=33, max_codepoint=126), min_size=1, max_size=80))
@settings(max_examples=40, deadline=None)
def test_any_printable_text_is_read_back(text: str) -> None:
    """By an independent decoder (zxing-cpp), whatever modes the text was split into."""
    plan = plan_qr(text, 40.0)
    dark = np.pad(np.array(qr_matrix(text, plan.level, plan.version)), QUIET_MODULES)
    picture = np.where(np.kron(dark, np.ones((4, 4), dtype=bool)), 0, 255).astype(np.uint8)
    codes = zxingcpp.read_barcodes(picture)
    assert [code.text for code in codes] == [text]
    assert codes[0].ec_level == plan.level


@pytest.mark.parametrize("text", ["DRF26329AK", LINK, "1234567890A", "HTTPS://A.EXAMPLE/10/1"])
def test_no_smaller_version_would_do(text: str) -> None:
    """Splitting into denser modes never costs a version against the library's default."""
    plan = plan_qr(text, 60.0)
    plain = qrcode.QRCode(error_correction=qrcode.ERROR_CORRECT_H, border=0)
    plain.add_data(text)
    assert plan.version <= max(2, plain.best_fit(start=1))
