"""Reading the photos of batches: which there are, and one by one."""

from __future__ import annotations

import base64

from soapstock.codes.lot import LotCode
from soapstock.errors import NotFound
from soapstock.ledger.base.sql import query
from soapstock.ledger.facts import PhotoRecord
from soapstock.ledger.read.snapshot import Snapshot

PHOTOS = """
    SELECT p.entry_id, p.width, p.height, p.sha256, l.code, e.happened_on, e.by, e.note
    FROM photo p JOIN entry e ON e.id = p.entry_id JOIN lot l ON l.id = p.lot_id
    WHERE l.code = :lot AND LIVE(l.id) AND LIVE(p.entry_id) ORDER BY p.entry_id"""
JPEG = "SELECT p.jpeg FROM photo p WHERE p.entry_id = :id AND LIVE(p.entry_id)"


class PhotoReader(Snapshot):
    """What batches looked like."""

    def photos(self, lot: str) -> list[PhotoRecord]:
        """The photos of a batch, oldest first, without their points."""
        return [
            PhotoRecord(
                on=row.happened_on,
                by=row.by,
                note=row.note,
                entry_id=row.entry_id,
                lot_code=LotCode(row.code),
                width=row.width,
                height=row.height,
                sha256=row.sha256,
            )
            for row in self.db.execute(query(PHOTOS), {"lot": lot})
        ]

    def photo(self, entry_id: int) -> bytes:
        """The JPEG of a photo. Raises NotFound."""
        found = self.db.execute(query(JPEG), {"id": entry_id}).scalar()
        if found is None:
            raise NotFound(f"no photo under entry {entry_id}")
        return base64.b64decode(found)
