"""Proofs of a lot's label on every face, into a folder."""

from __future__ import annotations

from pathlib import Path

import pytest

from soapstock.desk.desk import Desk
from soapstock.errors import BadTable, NotFound
from soapstock.papers.designs import folders_of
from soapstock.papers.proofs import write_proofs
from soapstock.render.label.designs import list_faces

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
    assert {path.name for path in out.iterdir()} == {*drawn, "band.pdf"}
    assert (out / "band.pdf").read_bytes() == b"the maker's own"


def test_a_folder_that_is_not_there_is_said(desk: Desk, tmp_path: Path) -> None:
    """A mistyped path."""
    with pytest.raises(NotFound, match="no folder"):
        write_proofs(desk, LOT, tmp_path / "no")
