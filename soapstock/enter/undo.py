"""Reverse an entry by another that names it."""

from __future__ import annotations

from datetime import date

from soapstock.desk.desk import Desk
from soapstock.enter.entered import Entered
from soapstock.errors import BadInput, Mend


def undo(desk: Desk, entry_id: int, because: str, on: date | None = None) -> Entered:
    """Write the entry that reverses an earlier one."""
    if not because.strip():
        raise BadInput("an undo needs a reason", mend=Mend("say_what_was_wrong"))
    with desk.ledger.write() as writer:
        entry = writer.undo(desk.stamp(on), entry_id, because.strip())
    return Entered(
        entry_id=entry, lot_code=None, said=f"Entry {entry_id} is undone by entry {entry}."
    )
