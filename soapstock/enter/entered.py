"""What every entry hands back, and the bounds of a bar count."""

from __future__ import annotations

from dataclasses import dataclass

from soapstock.codes.lot import LotCode
from soapstock.errors import BadInput

MAX_BARS = 100_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Entered:
    """What came of entering a fact: the entry's number, its lot, and a line to say so."""

    entry_id: int
    lot_code: LotCode | None
    said: str
    notes: tuple[str, ...] = ()


def bar_count(bars: int, what: str, *, least: int = 1) -> int:
    """A count of bars, after checking it. Raises BadInput."""
    if not least <= bars <= MAX_BARS:
        raise BadInput(f"{what} {bars} is not a count of bars", hint=f"give {least} or more")
    return bars
