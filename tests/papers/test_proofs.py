"""Proofs of a lot's label on every face, into a folder."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pypdfium2
import pytest
from PIL import Image

from soapstock.desk.desk import Desk
from soapstock.errors import BadInput, BadTable, NotFound
from soapstock.papers.designs import folders_of
from soapstock.papers.proofs import PREVIEW_DPI, write_preview, write_proofs
from soapstock.render.label.designs import list_faces
from soapstock.render.label.show import RULER_MM
from soapstock.views.label import label_text

LOT = "DRF26241AZ"


def test_a_bad_face_is_named_and_the_others_are_drawn(desk: Desk, tmp_path: Path) -> None:
    """A shop's own face with a misspelt key; a PDF of the maker's in the folder is left alone."""
    own, out = desk.shop.folder / "labels" / "faces", tmp_path / "out"
    own.mkdir(parents=True)
    out.mkdir()
    (own / "mine.toml").write_text("abuot = 3\n", encoding="utf-8")
    (out / "band.pdf").write_bytes(b"the maker's own")
    with pytest.raises(BadTable, match=r"face 'mine': .*mine\.toml:1: abuot: unknown field"):
        write_proofs(desk, LOT, out)
    good = [name for name in list_faces(folders_of(desk.shop)) if name != "mine"]
    drawn = {f"{name}{end}" for name in good for end in (".txt", ".png")}
    page = {"all-faces.pdf", "all-faces.png"}
    assert {path.name for path in out.iterdir()} == {*drawn, *page, "band.pdf"}
    assert (out / "band.pdf").read_bytes() == b"the maker's own"


def test_a_folder_that_is_not_there_is_said(desk: Desk, tmp_path: Path) -> None:
    """A mistyped path."""
    with pytest.raises(NotFound, match="no folder"):
        write_proofs(desk, LOT, tmp_path / "no")


@pytest.mark.parametrize("mood", ["quiet", "tinted", "ringed"])
def test_a_preview_is_the_label_at_its_true_size(desk: Desk, tmp_path: Path, mood: str) -> None:
    """The picture says its dots per inch; the outline lies a ruler from its edge."""
    picture = tmp_path / "l.png"
    layout = write_preview(desk, label_text(desk, LOT), picture, face="band", mood=mood)
    image = Image.open(picture)
    dots = PREVIEW_DPI / 25.4
    assert image.info["dpi"] == pytest.approx((PREVIEW_DPI, PREVIEW_DPI), abs=0.1)
    assert image.width == pytest.approx((RULER_MM + layout.width_mm + 4) * dots, abs=1.5)
    grey = np.asarray(image.convert("L")).astype(int)
    blank = round((RULER_MM + layout.height_mm + 2) * dots)  # below the label
    assert grey[blank].min() > 250
    edge = round((RULER_MM + layout.height_mm) * dots)
    assert grey[edge - 2 : edge + 3].min(axis=0)[300:2000].max() < 250


def test_a_mood_that_is_none_is_said(desk: Desk, tmp_path: Path) -> None:
    """Which there are stands in the hint."""
    with pytest.raises(BadInput, match="no mood 'loud'") as told:
        write_preview(desk, label_text(desk, LOT), tmp_path / "l.png", mood="loud")
    assert "quiet, tinted, ringed" in str(told.value.hint)


def test_all_faces_stand_on_one_page_apart(desk: Desk, tmp_path: Path) -> None:
    """PDFium finds each face's name once, and one page."""
    write_proofs(desk, LOT, tmp_path)
    page = pypdfium2.PdfDocument(tmp_path / "all-faces.pdf")
    assert len(page) == 1
    words = page[0].get_textpage().get_text_bounded().split()
    for name in list_faces(folders_of(desk.shop)):
        assert words.count(name) == 1
