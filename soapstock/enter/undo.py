"""Reverse an entry by another that names it; the last one, or all that sent an order."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from soapstock.codes.lot import with_hyphens
from soapstock.desk.desk import Desk
from soapstock.enter.entered import Entered
from soapstock.errors import BadInput, Mend, NotFound, RuleBroken
from soapstock.units import several

if TYPE_CHECKING:
    from soapstock.ledger.facts import EntryRecord
    from soapstock.ledger.read.reader import Reader

_LOOKED_AT = 200  # entries looked through for the last one that a person made


def undo(desk: Desk, entry_id: int, because: str, on: date | None = None) -> Entered:
    """Write the entry that reverses an earlier one."""
    why = _reason(because)
    with desk.ledger.write() as writer:
        entry = writer.undo(desk.stamp(on), entry_id, why)
    return Entered(
        entry_id=entry, lot_code=None, said=f"Entry {entry_id} is undone by entry {entry}."
    )


def undo_last(desk: Desk, because: str, on: date | None = None) -> Entered:
    """Reverse this person's last entry that still stands; asked again, the one before it.

    Raises:
        NotFound: this person made none of late.
    """
    why = _reason(because)
    with desk.writing() as (here, writer), here.ledger.read() as reader:
        last = _last_of(reader, desk.by)
        entry = writer.undo(desk.stamp(on), last.id, why)
    said = f"Undone by entry {entry}: {with_hyphens(last.summary)} (entry {last.id})."
    return Entered(entry_id=entry, lot_code=None, said=said)


def _last_of(reader: Reader, person: str) -> EntryRecord:
    for found in reversed(reader.entries(limit=_LOOKED_AT)):
        if found.by == person and found.undoes is None and found.undone_by is None:
            return found
    raise NotFound(f"no entry of {person} stands that could be undone")


def unship(desk: Desk, order_ref: str, because: str, on: date | None = None) -> Entered:
    """Undo an order's shipping whole, in one transaction: its bars come back and it is open again.

    Raises:
        NotFound: no such order.
        RuleBroken: nothing of it was sent, or a bar of it came back and stands in a later entry.
    """
    why = _reason(because)
    stamp = desk.stamp(on)
    with desk.writing() as (here, writer), here.ledger.read() as reader:
        order = reader.order(order_ref)
        sent = reader.sending_entries(order.entry_id, order_ref)
        if not order.shipped:
            raise RuleBroken(f"nothing of order {order_ref} was sent")
        entry = max(writer.undo(stamp, each, why) for each in sorted(sent, reverse=True))
    bars = several(sum(order.shipped.values()), "bar")
    return Entered(
        entry_id=entry, lot_code=None, said=f"{bars} of order {order_ref} are back; it is open."
    )


def _reason(because: str) -> str:
    if not because.strip():
        raise BadInput("an undo needs a reason", mend=Mend("say_what_was_wrong"))
    return because.strip()
