"""Faces and sheets read from TOML, strictly."""

from __future__ import annotations

import contextlib
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from soapstock.errors import BadTable, NotFound
from soapstock.render.label.designs import (
    list_faces,
    list_sheets,
    load_face,
    load_sheet,
    parse_face,
    parse_sheet,
)

BLOCK = """[[blocks]]
draws = "text"
holds = ["name"]
left_mm = 1
width_mm = 5
top_mm = 1
height_mm = 5
"""
FACE = 'about = "x"\nwidth_mm = 50\nheight_mm = 30\n'
SHEET = """about = "x"
paper_width_mm = 210
paper_height_mm = 297
label_width_mm = 70
label_height_mm = 37
"""


def test_every_shipped_design_loads_and_every_face_suits_a_sheet(folders: list[Path]) -> None:
    """Each face names sheets that exist and whose labels hold it."""
    sheets = list_sheets(folders)
    for name in list_faces(folders):
        face = load_face(name, folders)
        assert face.suits, name
        for sheet in face.suits:
            assert sheet in sheets
            assert face.size_on(load_sheet(sheet, folders)) is not None, (name, sheet)


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        (FACE + BLOCK.replace("holds", "hold"), r":6: blocks\[1\]\.hold: unknown field"),
        (FACE + BLOCK.replace("width_mm = 5\n", ""), "not tied down"),
        (FACE + BLOCK + 'panel = "front"\n', r":11: blocks\[1\]\.panel: there is no panel 'front'"),
        (FACE + BLOCK + 'font = "bold"\n', "font: 'bold' is not one of regular, semibold"),
        (FACE + BLOCK + "size_pt = -3\n", "size_pt: -3 is not between 4 and"),
        (FACE, r"no \[\[blocks\]\]"),
        (FACE + "blocks = 3\n", "blocks: is not a list of tables"),
        (FACE + "min_height_mm = 0.1\n" + BLOCK, "min_height_mm: 0.1 is not between 0.8 and"),
        (FACE + BLOCK + "leading = 0.2\n", "leading: 0.2 is not between 0.9 and"),
        (FACE.replace("50", "nan") + BLOCK, "width_mm: NaN is not between 1 and"),
        (FACE.replace("50", "-50") + BLOCK, "width_mm: -50 is not between 1 and"),
        (BLOCK, "about: is missing"),
        ("width_mm = = 3", ":1: not valid TOML"),
        (FACE + "panels = 3\n" + BLOCK, "panels is not a table"),
        (FACE + BLOCK + "[panels]\nfront = 3\n", "panels.front is not a table"),
    ],
)
def test_a_broken_face_names_file_and_fault(text: str, fault: str) -> None:
    """Each fault is named with the file it stands in."""
    with pytest.raises(BadTable, match="my.toml.*" + fault):
        parse_face(text, "my", "my.toml")


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        (SHEET + "columns = 4\n", "label 4 stands off the paper"),
        (SHEET + "columns = 2\npitch_x_mm = 60\n", "overlap"),
        (SHEET + "columns = 0\n", "columns: 0 is not between 1 and"),
        (SHEET + "rows = 1.5\n", "rows: 1.5 is not a whole number"),
        (SHEET + 'cut = "knife"\n', "cut: 'knife' is not one of none, outline, marks"),
        (SHEET.replace("37", "-15"), ":5: label_height_mm: -15 is not between 1 and"),
        (SHEET.replace("37", "0"), ":5: label_height_mm: 0 is not between 1 and"),
    ],
)
def test_a_broken_sheet_names_file_and_fault(text: str, fault: str) -> None:
    """Each fault is named with the file it stands in."""
    with pytest.raises(BadTable, match="my.toml.*" + fault):
        parse_sheet(text, "my", "my.toml")


def test_a_picture_with_no_file_name_is_a_bad_design(folders: list[Path]) -> None:
    """A name with a NUL in it, which no file system takes, is refused and crashes nothing."""
    face = load_face("panel", folders)
    for name in ("", "x.svg\0", "../x.svg"):
        with pytest.raises(BadTable, match="face 'panel'"):
            face.file(name)


def test_an_unknown_face_offers_near_ones(folders: list[Path]) -> None:
    """A typing slip is met with the right name."""
    with pytest.raises(NotFound) as caught:
        load_face("bnad", folders)
    assert "band" in caught.value.hint


def test_a_shops_own_face_wins_over_the_shipped_one(folders: list[Path], tmp_path: Path) -> None:
    """The first folder that has the name is taken."""
    (tmp_path / "faces").mkdir()
    (tmp_path / "faces" / "band.toml").write_text(FACE + BLOCK)
    assert load_face("band", [tmp_path, *folders]).width_mm == 50


VALUES = st.one_of(
    st.integers(-(10**12), 10**12),
    st.floats(),
    st.booleans(),
    st.text("abc ./", max_size=5),
    st.lists(st.integers(), max_size=2),
)


@given(
    key=st.sampled_from([*"abc", "left_mm", "size_pt", "holds", "font", "draws", "panel", "image"]),
    value=VALUES,
)
def test_no_value_in_a_block_escapes_the_reader(key: str, value: object) -> None:
    """Whatever stands in a block, it is taken or refused as a bad table, never a crash."""
    said = str(value).lower() if isinstance(value, bool | float) else repr(value)
    lines = [line for line in BLOCK.splitlines() if not line.startswith(f"{key} ")]
    text = FACE + "\n".join([*lines, f"{key} = {said}"])
    with contextlib.suppress(BadTable):
        parse_face(text, "my", "my.toml")
