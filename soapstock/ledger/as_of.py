"""The book as it stood on an earlier day, for answers as of any date."""

from __future__ import annotations

from collections import defaultdict
from datetime import date

from sqlalchemy import func, select

from soapstock.ledger.models import ENTRY, LOT, POSTING
from soapstock.ledger.queries import not_undone
from soapstock.ledger.read_batches import HIDDEN_PLACES
from soapstock.ledger.reader import Reader


def latest_day(reader: Reader) -> date | None:
    """The last day on which anything happened, None for an empty ledger."""
    found = reader.db.execute(select(func.max(ENTRY.c.happened_on))).scalar()
    return found if isinstance(found, date) or found is None else date.fromisoformat(str(found))


def codes_ever_used(reader: Reader) -> list[str]:
    """Every lot code that ever stood in the ledger, undone ones too: none is given twice."""
    return list(reader.db.execute(select(LOT.c.code)).scalars())


def bars_by_place(reader: Reader, day: date) -> dict[str, dict[str, int]]:
    """Bars by lot code and place at the end of a day; undone entries count for nothing."""
    query = (
        select(LOT.c.code, POSTING.c.place, func.sum(POSTING.c.quantity).label("held"))
        .join(ENTRY, ENTRY.c.id == POSTING.c.entry_id)
        .join(LOT, LOT.c.id == POSTING.c.lot_id)
        .where(
            ENTRY.c.happened_on <= day,
            ENTRY.c.undoes.is_(None),
            not_undone(ENTRY.c.id),
            POSTING.c.unit == "bars",
            POSTING.c.place.not_in(HIDDEN_PLACES),
        )
        .group_by(LOT.c.code, POSTING.c.place)
    )
    held: dict[str, dict[str, int]] = defaultdict(dict)
    for row in reader.db.execute(query):
        if row.held:
            held[row.code][row.place] = int(row.held)
    return held
