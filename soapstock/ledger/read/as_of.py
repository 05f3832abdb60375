"""The book as it stood on an earlier day, for answers as of any date."""

from __future__ import annotations

from collections import defaultdict
from datetime import date
from typing import cast

from soapstock.ledger.base.sql import query
from soapstock.ledger.facts import StockLine
from soapstock.ledger.read.snapshot import Snapshot

_POSTED = """
    FROM posting p JOIN entry e ON e.id = p.entry_id JOIN lot l ON l.id = p.lot_id
    WHERE e.happened_on <= :day AND e.undoes IS NULL AND LIVE(e.id)"""
BARS_BY_PLACE = f"""
    SELECT l.code, p.place, sum(p.quantity) AS held {_POSTED} AND p.unit = 'bars'
        AND p.place NOT IN ('pot', 'count-difference', 'supplier')
    GROUP BY l.code, p.place"""

STOCK_ON = f"""
    SELECT l.code, l.kind, l.item, p.place, p.unit, sum(p.quantity) AS held {_POSTED}
        AND p.place NOT IN ('pot', 'count-difference', 'supplier', 'customer', 'waste')
    GROUP BY l.code, l.kind, l.item, p.place, p.unit HAVING sum(p.quantity) <> 0
    ORDER BY l.kind, l.item, l.code, p.place, p.unit"""


class PastReader(Snapshot):
    """Reads of what stood in the book on a day."""

    def latest_day(self) -> date | None:
        """The last day on which anything happened, None for an empty ledger."""
        last = query("SELECT max(e.happened_on) AS happened_on FROM entry e")
        return cast("date | None", self.db.execute(last).scalar())

    def bars_by_place(self, day: date) -> dict[str, dict[str, int]]:
        """Bars by lot code and place at the end of a day; undone entries count for nothing."""
        held: dict[str, dict[str, int]] = defaultdict(dict)
        for code, place, bars in self.db.execute(query(BARS_BY_PLACE), {"day": day}):
            if bars:
                held[code][place] = int(bars)
        return held

    def stock_on(self, day: date) -> list[StockLine]:
        """What lay where at the end of a day, in the order and with the places of `stock`."""
        return [
            StockLine(
                lot_code=code, kind=kind, item=item, place=place, unit=unit, quantity=int(held)
            )
            for code, kind, item, place, unit, held in self.db.execute(
                query(STOCK_ON), {"day": day}
            )
        ]
