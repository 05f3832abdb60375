"""A photo of a batch, kept as a fact."""

from __future__ import annotations

from datetime import date

from soapstock.desk.desk import Desk
from soapstock.desk.finding import read_lot
from soapstock.enter.entered import Entered
from soapstock.scan.photo import small_photo
from soapstock.units import several


def add_photo(
    desk: Desk, lot: str, data: bytes, *, on: date | None = None, note: str = ""
) -> Entered:
    """Record a photo of a batch, made small and bare of place and camera first.

    Args:
        data: the picture as a camera or a screen wrote it, such as JPEG or PNG.

    Raises:
        BadInput: not a picture, or too large a one.
        RuleBroken: a day before the pour.
    """
    small = small_photo(data)
    stamp = desk.stamp(on, note)
    with desk.writing() as (here, writer), here.ledger.read() as reader:
        code = read_lot(here, lot, kind="batch")
        entry = writer.photo(stamp, code, small.jpeg, width=small.width, height=small.height)
        kept = len(reader.photos(code))
    said = f"Kept a photo of {code.shown}: {several(kept, 'photo')} now."
    return Entered(entry_id=entry, lot_code=code, said=said)
