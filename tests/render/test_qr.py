"""QR codes before they are on paper."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from soapstock.errors import RuleBroken
from soapstock.render.qr import module_mm, qr_matrix, runs


@given(st.lists(st.lists(st.booleans(), min_size=6, max_size=6), min_size=1, max_size=8))
def test_runs_cover_exactly_the_dark_modules(rows: list[list[bool]]) -> None:
    """The joined rectangles paint every dark module once and no light one."""
    painted: list[tuple[int, int]] = []
    for column, row, columns, height in runs(tuple(tuple(r) for r in rows)):
        painted += [(column + x, row + y) for x in range(columns) for y in range(height)]
    dark = [(x, y) for y, row in enumerate(rows) for x, cell in enumerate(row) if cell]
    assert sorted(painted) == sorted(dark)


def test_a_lot_code_alone_fits_the_smallest_code() -> None:
    """Ten capitals and digits need version 1: 21 modules a side (ISO/IEC 18004)."""
    assert len(qr_matrix("DRF26329AK")) == 21


def test_a_code_too_small_for_its_modules_says_what_side_it_needs() -> None:
    """21 modules and the quiet zone of 8 at 0.33 mm make 9.6 mm."""
    assert module_mm("DRF26329AK", 9.6) >= 0.33
    with pytest.raises(RuleBroken, match=r"needs a square of 9\.6 mm and has 9\.0 mm"):
        module_mm("DRF26329AK", 9.0)


def test_on_a_roll_printer_a_module_is_a_whole_number_of_dots() -> None:
    """At 203 dots to the inch a dot is 0.125 mm: 15 mm for 29 modules gives 4 dots, 0.5005 mm."""
    dots_per_mm = 203 / 25.4
    assert module_mm("DRF26329AK", 15, dots_per_mm=dots_per_mm) * dots_per_mm == pytest.approx(4)


def test_no_text_and_too_much_text_are_refused() -> None:
    """One clear line each."""
    with pytest.raises(RuleBroken, match="no text"):
        qr_matrix("")
    with pytest.raises(RuleBroken, match="too long"):
        qr_matrix("x" * 3000)


def test_a_stronger_level_is_taken_where_it_costs_no_size() -> None:
    """Ten capitals and digits fit version 1 at level H: 10 characters (ISO/IEC 18004 table 7)."""
    matrix = qr_matrix("DRF26329AK")
    level_bits = (matrix[8][0], matrix[8][1])
    # Format information, masked with 10 (ISO/IEC 18004 section 7.9): level H is 10, so both are 0.
    assert level_bits == (False, False)
