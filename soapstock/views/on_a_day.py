"""The ledger's facts as they stood on an earlier day."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING

from soapstock.desk.desk import Desk

if TYPE_CHECKING:
    from soapstock.ledger.facts import BatchFacts
    from soapstock.ledger.read.reader import Reader


def as_of(reader: Reader, batches: Sequence[BatchFacts], day: date) -> list[BatchFacts]:
    """Batches as the book had them at the end of a day: later facts and movements left out."""
    held = reader.held_on(day)
    return [
        facts.as_of(day, held.get(facts.lot_code, ()))
        for facts in batches
        if facts.poured_on <= day
    ]


def is_now(desk: Desk, reader: Reader) -> bool:
    """Whether nothing is on record after the desk's day."""
    last = reader.latest_day()
    return last is None or last <= desk.today
