"""Signs of the law on a label: drawn where the wording names them, in legal size."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np
import pypdfium2
import pytest

from soapstock.labelling.wording import LabelWording, Statement
from soapstock.render.label.designs import load_face, load_sheet
from soapstock.render.label.items import SignItem
from soapstock.render.label.layout import lay_out
from soapstock.render.label.legal import law_of
from soapstock.render.label.pieces import Printed
from soapstock.render.label.run import LabelJob, write_labels

MakeWording = Callable[..., LabelWording]
DAY = date(2026, 11, 25)


def _words(wording: MakeWording, kind: str, sign: str, inside: str, market: str) -> LabelWording:
    plain = wording(net_weight="113 g ℮", best_before="")
    statement = Statement(
        kind=kind,  # type: ignore[arg-type]
        text="Use within 12 months of opening",
        rule="x",
        required=True,
        sign=sign,
        sign_text=inside,
    )
    return replace(
        plain, statements=(*plain.statements, statement), market=market, on=DAY, nominal_g=113.0
    )


def _signs(words: LabelWording, face_name: str, folders: list[Path]) -> list[SignItem]:
    face = load_face(face_name, folders)
    law = law_of(words, face, width_mm=face.width_mm, height_mm=face.height_mm)
    layout = lay_out(
        Printed(wording=words, face=face, law=law),
        width_mm=face.width_mm,
        height_mm=face.height_mm,
    )
    return [item for item in layout.items if isinstance(item, SignItem)]


@pytest.mark.parametrize("face", ["panel", "band"])
def test_the_jar_carries_its_months(face: str, wording: MakeWording, folders: list[Path]) -> None:
    """12M stands inside the open jar (Regulation (EC) No 1223/2009 Annex VII(2))."""
    (sign,) = _signs(_words(wording, "opened", "open-jar", "12M", "eu"), face, folders)
    assert sign.figures is not None
    assert sign.figures.lines[0][0] == "12M"
    assert sign.ink.holds(sign.figures.ink)


def test_a_market_that_does_not_know_the_sign_gets_none(
    wording: MakeWording, folders: list[Path]
) -> None:
    """No open jar in the United States."""
    assert _signs(_words(wording, "opened", "open-jar", "12M", "us-soap"), "panel", folders) == []


def test_the_hand_on_the_book_stands_where_the_list_does_not(
    wording: MakeWording, folders: list[Path]
) -> None:
    """A round front without the list points to it (Annex VII(1)); a panel with it does not."""
    words = _words(wording, "opened", "", "", "eu")
    assert [s.symbol.key for s in _signs(words, "round", folders)] == ["hand-on-book"]
    assert _signs(words, "panel", folders) == []


def test_the_e_mark_is_three_mm_high(
    wording: MakeWording, folders: list[Path], tmp_path: Path
) -> None:
    """Measured by its outline in the PDF (Directive 76/211/EEC Annex I 3.3)."""
    path = tmp_path / "l.pdf"
    for face, sheet in (("panel", "a4-2x4"), ("tag", "a4-4x2")):
        words = _words(wording, "opened", "open-jar", "12M", "eu")
        write_labels(
            path,
            [LabelJob(wording=words, copies=1)],
            face=load_face(face, folders),
            sheet=load_sheet(sheet, folders),
            title="x",
        )
        page = pypdfium2.PdfDocument(path)[0].get_textpage()
        _, bottom, _, top = page.get_charbox(page.get_text_range().index("℮"))
        assert (top - bottom) / 72 * 25.4 >= 3.0


def test_the_sign_is_really_drawn(
    wording: MakeWording, folders: list[Path], tmp_path: Path
) -> None:
    """There is ink in its square."""
    words = _words(wording, "best_before", "hourglass", "", "eu")
    (sign,) = _signs(words, "panel", folders)
    path = tmp_path / "l.pdf"
    write_labels(
        path,
        [LabelJob(wording=words, copies=1)],
        face=load_face("panel", folders),
        sheet=load_sheet("roll-100x60", folders),
        title="x",
    )
    dots = np.asarray(pypdfium2.PdfDocument(path)[0].render(scale=4).to_numpy())
    scale = 4 * 72 / 25.4
    shift = 0.0  # the sign is tied to the left edge and to the foot of a face of 58 or 60 mm
    drop = 2.0
    area = dots[
        int((sign.ink.top + drop) * scale) : int((sign.ink.bottom + drop) * scale),
        int((sign.ink.left + shift) * scale) : int((sign.ink.right + shift) * scale),
    ]
    assert 0.15 < (area < 128).mean() < 0.8
