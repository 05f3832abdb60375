"""Writing the photos of batches."""

from __future__ import annotations

import base64
import hashlib

from soapstock.errors import BadInput
from soapstock.ledger.base.tables import PHOTO
from soapstock.ledger.facts import MOST_PHOTO_BYTES, Stamp
from soapstock.ledger.write import guards
from soapstock.ledger.write.core import WriterCore, fact


class PhotoWriter(WriterCore):
    """What a batch looked like."""

    @fact
    def photo(self, stamp: Stamp, lot: str, jpeg: bytes, *, width: int, height: int) -> int:
        """Keep a photo of a batch.

        Raises:
            BadInput: not a JPEG, or over MOST_PHOTO_BYTES.
            RuleBroken: a day before the pour.
        """
        batch = self.lot(lot, "batch")
        self.refuse_before(stamp, batch, "photo")
        if not (jpeg.startswith(b"\xff\xd8") and jpeg.endswith(b"\xff\xd9")):
            raise BadInput("a photo is kept as JPEG")
        if len(jpeg) > MOST_PHOTO_BYTES:
            raise BadInput(f"the photo has {len(jpeg)} bytes; at most {MOST_PHOTO_BYTES} are kept")
        row = {
            "entry_id": self.next_id,
            "lot_id": batch.id,
            "width": guards.whole("width", width, high=MOST_PHOTO_BYTES),
            "height": guards.whole("height", height, high=MOST_PHOTO_BYTES),
            "sha256": hashlib.sha256(jpeg).hexdigest(),
            "jpeg": base64.b64encode(jpeg).decode(),
        }
        return self.enter(
            stamp,
            "photo",
            lot_id=batch.id,
            facts=[(PHOTO, row)],
            summary=f"photo of {batch.code}, SHA-256 {row['sha256']:.16}",
        )
