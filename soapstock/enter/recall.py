"""Recall a lot: hold what it reached and list who to tell."""

from __future__ import annotations

from collections.abc import Callable

from soapstock.codes.lot import LotCode
from soapstock.desk.desk import Desk
from soapstock.desk.finding import read_lot
from soapstock.errors import BadInput, Mend
from soapstock.exchange.tabular import json_text
from soapstock.views.follow import RecallDone, customers_to_tell, recall_record


def recall(
    desk: Desk,
    lot: str,
    *,
    clock: Callable[[], float],
    practice: bool = False,
    hold: bool = False,
    why: str = "",
) -> RecallDone:
    """Find what a recall reaches; record it when it is a practice or puts lots on hold.

    Args:
        clock: seconds of a steady clock, to say how long it took.
        practice: record it as a practice; nothing is put on hold.
        hold: put every affected lot that still has bars here on hold, and record the recall.
        why: the reason, needed with hold.

    Raises:
        BadInput: practice and hold together, or hold without a reason.
    """
    if practice and hold:
        raise BadInput("a practice holds nothing", hint="practise, or hold the bars, but not both")
    if hold and not why.strip():
        raise BadInput("a recall needs its reason", mend=Mend("give_reason", example="..."))
    begun = clock()
    code = read_lot(desk, lot)
    with desk.ledger.read() as reader:
        found = reader.recall(code)
        stopped = {
            b.lot_code
            for b in reader.batches([a.lot.lot_code for a in found.affected])
            if b.decisions and b.decisions[-1].decision != "release"
        }
    customers = tuple(customers_to_tell(desk, found))
    seconds = max(clock() - begun, 0.0)
    held: list[LotCode] = []
    entry = None
    if practice or hold:
        report = json_text(recall_record(found, customers))
        stamp = desk.stamp(note=why.strip())
        with desk.ledger.write() as writer:
            for item in found.affected if hold else ():
                if (item.in_shop or not item.made) and item.lot.lot_code not in stopped:
                    reason = f"recall of {code.shown}: {why.strip()}"
                    writer.decide(stamp, item.lot.lot_code, "hold", reason)
                    held.append(item.lot.lot_code)
            entry = writer.record_recall(
                stamp, code, practice, report, seconds, found.accounted_percent
            )
    return RecallDone(
        found=found, customers=customers, seconds=seconds, held=tuple(held), entry_id=entry
    )
