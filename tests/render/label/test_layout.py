"""Laying wording out on a face: fits, refuses, keeps clear."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from itertools import combinations
from math import hypot
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from soapstock.errors import RuleBroken
from soapstock.labelling.wording import LabelWording
from soapstock.render.label.designs import (
    MOODS,
    Face,
    Mood,
    list_faces,
    list_sheets,
    load_face,
    load_sheet,
    parse_face,
)
from soapstock.render.label.items import ArcItem, Layout, ShapeItem, TextItem
from soapstock.render.label.layout import lay_out
from soapstock.render.label.legal import Law, TypeNeed, law_of
from soapstock.render.label.look import Look
from soapstock.render.label.pieces import Printed
from soapstock.render.label.places import clear_zone
from soapstock.render.label.run import LabelJob, layout_of
from tests.render.conftest import make_wording

MakeWording = Callable[..., LabelWording]
TINY = """
about = "x"
width_mm = 60
height_mm = 40
[[blocks]]
draws = "text"
holds = ["name"]
left_mm = 2
right_mm = 2
top_mm = 2
height_mm = 10
size_pt = 12
[[blocks]]
draws = "text"
holds = ["net_weight"]
left_mm = 2
right_mm = 2
top_mm = {top}
height_mm = 8
size_pt = 12
"""


def _lay(
    wording: LabelWording, face: Face, width_mm: float, height_mm: float, law: Law | None = None
) -> Layout:
    printed = Printed(wording=wording, face=face, law=law or Law())
    return lay_out(printed, width_mm=width_mm, height_mm=height_mm)


def _tiny(top: float) -> Face:
    return parse_face(TINY.format(top=top), "tiny", "tiny.toml")


def _only(wording: MakeWording, **kept: str) -> LabelWording:
    kinds = ("name", "identity", "net_weight", "ingredients", "maker", "lot", "made", "best_before")
    return wording(**{kind: kept.get(kind, "") for kind in kinds})


def test_every_shipped_face_holds_a_declaration_of_fourteen_on_every_sheet_it_suits(
    wording: MakeWording, folders: list[Path]
) -> None:
    """Nothing overlaps, nothing stands off the label, the net weight keeps its clear space."""
    for name in ("band", "panel"):
        face = load_face(name, folders)
        for sheet in face.suits:
            width, height = face.size_on(load_sheet(sheet, folders)) or (0, 0)
            layout = _lay(wording(), face, width, height)
            solid = [i for i in layout.items if not isinstance(i, ShapeItem) or i.draws == "rule"]
            assert not any(a.ink.meets(b.ink) for a, b in combinations(solid, 2))
            weight = next(
                i for i in layout.items if isinstance(i, TextItem) and i.holds == ("net_weight",)
            )
            assert not any(clear_zone(weight).meets(i.ink) for i in solid if i is not weight)


def test_a_declaration_too_long_is_refused_with_both_heights(
    wording: MakeWording, folders: list[Path]
) -> None:
    """It is not shrunk: the message says what it needs, what it has, and at what type."""
    long = "Ingredients: " + ", ".join(["Butyrospermum Parkii Butter"] * 60)
    with pytest.raises(RuleBroken, match=r"ingredient list needs [\d.]+ mm .* has [\d.]+ mm"):
        _lay(wording(ingredients=long), load_face("band", folders), 200, 60)


def test_a_required_statement_without_a_place_is_refused(wording: MakeWording) -> None:
    """The message says which rule asks for it."""
    with pytest.raises(RuleBroken, match="no place for the lot code, which rule of the test"):
        _lay(_only(wording, name="Ebb", lot="Lot X"), _tiny(24), 60, 40)


def test_print_too_near_the_net_weight_is_refused(wording: MakeWording) -> None:
    """Above and below, the height of its lettering stays clear."""
    words = _only(wording, name="Ebb", net_weight="Net Wt 4 oz")
    _lay(words, _tiny(24), 60, 40)
    with pytest.raises(RuleBroken, match="too near the net weight"):
        _lay(words, _tiny(8.5), 60, 40)


@pytest.mark.parametrize("draws", ["frame", "ring", "tile"])
def test_a_line_through_print_is_refused(wording: MakeWording, draws: str) -> None:
    """The ring of a round label once ran through its net weight."""
    line = f'[[blocks]]\ndraws = "{draws}"\nleft_mm = 5\nright_mm = 5\ntop_mm = 5\nbottom_mm = 7\n'
    face = parse_face(TINY.format(top=28) + line, "tiny", "tiny.toml")
    words = _only(wording, name="Driftwood", net_weight="Net Wt 3.98 oz (113 g)")
    with pytest.raises(RuleBroken, match="lies across an edge or a line on face 'tiny'"):
        _lay(words, face, 60, 40)


@pytest.mark.parametrize("mood", MOODS)
@pytest.mark.parametrize("weight", ["Net Wt 3.49 oz (99 g)", "Net Wt 10.58 oz (300 g)"])
def test_every_face_holds_a_weight_in_every_mood(
    mood: Mood, weight: str, folders: list[Path]
) -> None:
    """No line of a mood runs through it, however its lines break."""
    texts = {"scent": "Sweet orange", "maker_name": "Heronwick Saltings", "net_weight": weight}
    texts["ingredients"] = "Ingredients: Beef tallow, Water, Coconut oil, Sodium hydroxide"
    words = replace(make_wording(**texts), market="us-soap", on=date(2026, 11, 25))
    for name in list_faces(folders):
        face = load_face(name, folders)
        law = law_of(words, face, width_mm=face.width_mm, height_mm=face.height_mm)
        printed = Printed(wording=words, face=face, law=law, look=Look(mood=mood))
        lay_out(printed, width_mm=face.width_mm, height_mm=face.height_mm)


def test_overlapping_texts_are_refused(wording: MakeWording) -> None:
    """Two texts in one place are not printed."""
    with pytest.raises(RuleBroken, match="overlap"):
        _lay(
            _only(wording, name="Ebb", net_weight="Net Wt 4 oz"),
            _tiny(2),
            60,
            40,
        )


def test_a_legal_height_raises_the_type(wording: MakeWording) -> None:
    """A statement is set no smaller than the height asked for by the law."""
    words = _only(wording, name="Ebb", net_weight="Net Wt 4 oz")
    layout = _lay(words, _tiny(26), 60, 40, law=Law(needs={"net_weight": TypeNeed(mm=2.4)}))
    item = layout.items[1]
    assert isinstance(item, TextItem)
    assert item.letter_mm() == pytest.approx(2.4)


def test_an_optional_block_that_does_not_fit_is_left_out_and_said(wording: MakeWording) -> None:
    """A warning, not an error."""
    text = TINY.format(top=26).replace('holds = ["name"]', 'holds = ["name"]\noptional = true')
    face = parse_face(text, "tiny", "tiny.toml")
    words = _only(wording, name="W" * 90, net_weight="Net Wt 4 oz")
    layout = _lay(words, face, 60, 40)
    assert len(layout.items) == 1
    assert "left out: the name" in layout.warnings[0]


def test_a_face_bigger_than_every_label_is_named_with_its_sheets(folders: list[Path]) -> None:
    """Each face goes on at least one shipped sheet."""
    sheets = [load_sheet(name, folders) for name in list_sheets(folders)]
    for name in list_faces(folders):
        assert any(load_face(name, folders).size_on(sheet) for sheet in sheets)


PANEL = load_face("panel", [Path(__file__).parents[3] / "labels"])


@settings(max_examples=150, deadline=None)
@given(
    name=st.text(max_size=60),
    maker=st.text(max_size=120),
    ingredients=st.integers(0, 60),
    width=st.floats(96, 104),
    height=st.floats(58, 86),
)
def test_any_words_are_laid_out_without_overlap_or_refused_in_words(
    name: str, maker: str, ingredients: int, width: float, height: float
) -> None:
    """No text, however odd or long, crashes the layout or ends up on another."""
    words = make_wording(
        name=name, maker=maker, ingredients="Ingredients: " + "Adeps Bovis, " * ingredients
    )
    try:
        layout = _lay(words, PANEL, width, height)
    except RuleBroken:
        return  # said in words is right too; a third outcome is the fault
    texts = [item for item in layout.items if isinstance(item, TextItem)]
    assert not any(a.ink.meets(b.ink) for a, b in combinations(texts, 2))
    for item in texts:
        heading = item.lines[0][0].isupper() and item.holds != ("name",)
        assert item.letter_mm("capital" if heading else "o") >= 1.2 - 1e-9


def test_a_round_edge_holds_each_line_by_itself(folders: list[Path]) -> None:
    """Of two centred lines at the foot the short one may stand where the long one could not."""
    layout = _lay(make_wording(), load_face("round", folders), 60, 60)
    weight = next(one for one in layout.items if getattr(one, "holds", ()) == ("net_weight",))
    assert isinstance(weight, TextItem)
    assert len(weight.lines) == 2
    height = weight.ink.height / 2
    for number, (line, left, _) in enumerate(weight.lines):
        bottom = weight.ink.top + (number + 1) * height
        for x in (left, left + weight.font.width_mm(line, weight.size_pt)):
            assert (x - 30) ** 2 + (bottom - 30) ** 2 <= 28.5**2
    wide = make_wording(net_weight="Net Wt 3.98 oz (113 g) and more " * 9)
    with pytest.raises(RuleBroken):
        _lay(wide, load_face("round", folders), 60, 60)


@pytest.mark.parametrize("mood", MOODS)
@pytest.mark.parametrize("code", ["WWW-26329-AW", "III-11111-AI", "PLN-26329-AM", "SAM-26251-AN"])
def test_any_lot_code_goes_round_the_back_of_a_round_label(
    wording: MakeWording, folders: list[Path], code: str, mood: Mood
) -> None:
    """The widest letters and the narrowest: turned, none leaves the circle or meets its ring."""
    face, sheet = load_face("round-back", folders), load_sheet("a4-3x4-round", folders)
    words = wording(lot=f"Lot {code}", qr="LOT", maker="Made by Example, 1 Lane, Town")
    layout = layout_of(LabelJob(wording=words, copies=1, look=Look(mood=mood)), face, sheet)
    arc = next(item for item in layout.items if isinstance(item, ArcItem))
    assert arc.text == f"Lot {code}"
    middle, reach = layout.width_mm / 2, layout.width_mm / 2 - face.clear_mm
    assert max(hypot(c.left - middle, c.top - middle) for c in arc.corners()) <= reach
