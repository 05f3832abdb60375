"""A photo is a fact: judged by its day, undone like any, and with the ledger wherever it goes."""

from __future__ import annotations

import io
from pathlib import Path

import pytest
from PIL import Image

from soapstock.desk.desk import Desk
from soapstock.enter.photo import add_photo
from soapstock.enter.undo import undo
from soapstock.errors import NotFound, RuleBroken

LOT = "EEL-26290-AT"


def picture() -> bytes:
    """A small picture."""
    out = io.BytesIO()
    Image.new("RGB", (40, 30), "olive").save(out, "PNG")
    return out.getvalue()


def test_a_photo_is_kept_and_undone(desk: Desk) -> None:
    """What is read back is the JPEG that was kept; undone it is gone."""
    done = add_photo(desk, LOT, picture(), note="ash on top")
    with desk.ledger.read() as reader:
        (seen,) = reader.photos(done.lot_code)
        jpeg = reader.photo(seen.entry_id)
    assert (seen.note, seen.width, seen.height) == ("ash on top", 40, 30)
    assert Image.open(io.BytesIO(jpeg)).size == (40, 30)
    undo(desk, done.entry_id, "wrong batch")
    with desk.ledger.read() as reader:
        assert reader.photos(done.lot_code) == []
        with pytest.raises(NotFound):
            reader.photo(seen.entry_id)


def test_a_photo_stands_on_the_batch_record(desk: Desk, tmp_path: Path) -> None:
    """With its note and its digest, as read by another library (pypdfium2)."""
    import pypdfium2

    from soapstock.papers.batch_record import write_record

    done = add_photo(desk, LOT, picture(), note="ash on top")
    with desk.ledger.read() as reader:
        (seen,) = reader.photos(done.lot_code)
    write_record(desk, LOT, tmp_path / "record.pdf")
    with pypdfium2.PdfDocument(tmp_path / "record.pdf") as pdf:
        text = " ".join(page.get_textpage().get_text_range() for page in pdf)
    for word in ("ash on top", "40 x 30", seen.sha256[:16]):
        assert word in text


def test_no_photo_from_before_the_pour(desk: Desk) -> None:
    """A day that cannot be, and a lot of fat, are refused."""
    from datetime import date

    with pytest.raises(RuleBroken):
        add_photo(desk, LOT, picture(), on=date(2026, 1, 1))
    with desk.ledger.read() as reader:
        fat = reader.ingredient_lots()[0].lot_code
    with pytest.raises(NotFound):
        add_photo(desk, fat, picture())
    with desk.ledger.read() as reader:
        assert reader.photos(LOT) == []
