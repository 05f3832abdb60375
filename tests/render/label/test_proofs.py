"""Proofs: a label as text and picture."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
from PIL import Image

from soapstock.labelling.wording import LabelWording
from soapstock.render.label.designs import load_face, load_sheet
from soapstock.render.label.layout import lay_out
from soapstock.render.label.pieces import Printed
from soapstock.render.label.proofs import PICTURE_DPI, proof_text, write_picture
from soapstock.render.label.run import LabelJob, write_labels
from soapstock.render.pdf.geometry import Rect

MakeWording = Callable[..., LabelWording]


def test_a_proof_names_every_statement_its_place_and_its_size(
    wording: MakeWording, folders: list[Path]
) -> None:
    """One line each, and one for each type rule."""
    printed = Printed(wording=wording(), face=load_face("panel", folders))
    text = proof_text(lay_out(printed, width_mm=99.1, height_mm=67.7))
    for words in ("label 99.1 x 67.7 mm", "name [5.25,", "pt: Net Wt", "qr [", "module 0."):
        assert words in text
    assert "type of net_weight: " in text


def test_a_picture_shows_the_label(
    wording: MakeWording, folders: list[Path], tmp_path: Path
) -> None:
    """The PNG is the label's size at the proofs' dots per inch and not blank."""
    sheet = load_sheet("a4-2x4", folders)
    job = LabelJob(wording=wording(), copies=1)
    pdf, png = tmp_path / "l.pdf", tmp_path / "l.png"
    write_labels(pdf, [job], face=load_face("panel", folders), sheet=sheet, title="x")
    write_picture(pdf, png, area_mm=Rect(left=4.65, top=13.1, width=99.1, height=67.7))
    picture = np.asarray(Image.open(png).convert("L"))
    assert abs(picture.shape[1] - 99.1 / 25.4 * PICTURE_DPI) < 2
    assert 0.02 < (picture < 128).mean() < 0.5
