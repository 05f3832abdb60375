"""The book as it stood on an earlier day, for answers as of any date."""

from __future__ import annotations

from datetime import date
from typing import cast

from soapstock.codes.lot import LotCode
from soapstock.ledger.base.sql import query
from soapstock.ledger.facts import Held, StockLine
from soapstock.ledger.read.snapshot import Snapshot

_POSTED = """
    FROM posting p JOIN entry e ON e.id = p.entry_id JOIN lot l ON l.id = p.lot_id
    JOIN place k ON k.name = p.place
    WHERE e.happened_on <= :day AND e.undoes IS NULL AND LIVE(e.id)"""
BARS_BY_PLACE = f"""
    SELECT l.code, p.place, k.kind, sum(p.quantity) AS held {_POSTED} AND p.unit = 'bars'
        AND AT(p.place, real)
    GROUP BY l.code, p.place, k.kind"""

STOCK_ON = f"""
    SELECT l.code, l.kind, l.item, p.place, k.kind AS place_kind, p.unit,
        sum(p.quantity) AS held {_POSTED}
        AND AT(p.place, holds open)
    GROUP BY l.code, l.kind, l.item, p.place, k.kind, p.unit HAVING sum(p.quantity) <> 0
    ORDER BY l.kind, l.item, l.code, p.place, p.unit"""


class PastReader(Snapshot):
    """Reads of what stood in the book on a day."""

    def latest_day(self) -> date | None:
        """The last day on which anything happened, None for an empty ledger."""
        last = query("SELECT max(e.happened_on) AS happened_on FROM entry e")
        return cast("date | None", self.db.execute(last).scalar())

    def held_on(self, day: date) -> dict[LotCode, tuple[Held, ...]]:
        """Bars by lot code at the end of a day; undone entries count for nothing."""
        held: dict[LotCode, tuple[Held, ...]] = {}
        for code, place, kind, bars in self.db.execute(query(BARS_BY_PLACE), {"day": day}):
            lot = LotCode(code)
            if bars:
                held[lot] = (*held.get(lot, ()), Held(place, kind, int(bars)))
        return held

    def stock_on(self, day: date) -> list[StockLine]:
        """What lay where at the end of a day, in the order and with the places of `stock`."""
        return [
            StockLine(
                lot_code=LotCode(code),
                kind=kind,
                item=item,
                place=place,
                place_kind=at,
                unit=unit,
                quantity=int(held),
            )
            for code, kind, item, place, at, unit, held in self.db.execute(
                query(STOCK_ON), {"day": day}
            )
        ]
