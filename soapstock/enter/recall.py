"""Recall a lot: hold what it reached and list who to tell."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING

from soapstock.codes.lot import LotCode
from soapstock.desk.desk import Desk
from soapstock.desk.finding import read_lot
from soapstock.errors import BadInput, Mend, RuleBroken
from soapstock.exchange.tabular import json_text
from soapstock.labelling.recall_notice import played_down
from soapstock.views.follow import RecallDone, customers_to_tell, recall_row

if TYPE_CHECKING:
    from soapstock.ledger.facts import Stamp
    from soapstock.ledger.read.follow import Recall
    from soapstock.ledger.read.reader import Reader
    from soapstock.ledger.write.writer import Writer


def recall(
    desk: Desk,
    lot: str,
    *,
    clock: Callable[[], float],
    practice: bool = False,
    hold: bool = False,
    why: str = "",
    hazard: str = "",
    remedy: str = "",
) -> RecallDone:
    """Find what a recall reaches; record it when it is a practice or puts lots on hold.

    Args:
        clock: seconds of a steady clock, to say how long it took.
        practice: record it as a practice; nothing is put on hold.
        hold: put every affected lot that still has bars here on hold, and record the recall.
        why: the reason, needed with hold; it stays in the ledger.
        hazard: what is wrong with the bars, and remedy: what their buyers get, as customers are
            to read it.

    Raises:
        BadInput: practice and hold together, or hold without a reason.
        RuleBroken: the hazard is played down, or told though nothing is recalled.
    """
    _judge_notice(hazard, remedy, in_earnest=hold)
    if practice and hold:
        raise BadInput("a practice holds nothing", hint="practise, or hold the bars, but not both")
    if hold and not why.strip():
        raise BadInput("a recall needs its reason", mend=Mend("give_reason", example="..."))
    if not (practice or hold):
        with desk.reading() as (here, reader):
            return _found(here, reader, lot, clock)
    stamp = desk.stamp(note=why.strip())
    with desk.writing() as (here, writer), here.ledger.read() as reader:
        done = _found(here, reader, lot, clock)
        found = done.found
        held = _hold(reader, writer, stamp, found, why.strip()) if hold else ()
        report = json_text(recall_row(found, done.customers))
        entry = writer.record_recall(
            stamp,
            found.lot_code,
            practice,
            report,
            done.seconds,
            found.accounted_percent,
            hazard=hazard,
            remedy=remedy,
        )
    return replace(done, held=held, entry_id=entry)


def _judge_notice(hazard: str, remedy: str, *, in_earnest: bool) -> None:
    """Refuse words for customers that play a hazard down, or that nobody would ever read."""
    if (hazard.strip() or remedy.strip()) and not in_earnest:
        raise BadInput("a notice to customers belongs to a recall in earnest", hint="hold the bars")
    for text in (hazard, remedy):
        found = played_down(text)
        if found is not None:
            raise RuleBroken(
                f"'{found.phrase}' plays the hazard down ({found.citation})",
                hint="say plainly what is wrong and what can happen",
            )


def _found(desk: Desk, reader: Reader, lot: str, clock: Callable[[], float]) -> RecallDone:
    """What a recall of a lot reaches and whom to tell, with how long it took to find out."""
    begun = clock()
    found = reader.recall(read_lot(desk, lot))
    customers = tuple(customers_to_tell(desk, found))
    may_hold = tuple(reader.from_before_with(found.lot_code))
    seconds = max(clock() - begun, 0.0)
    return RecallDone(found=found, customers=customers, seconds=seconds, may_hold=may_hold)


def _hold(
    reader: Reader, writer: Writer, stamp: Stamp, found: Recall, why: str
) -> tuple[LotCode, ...]:
    """Put the lots on hold that a recall reaches and nothing stops yet; which they are."""
    stopped = {
        b.lot_code
        for b in reader.batches([a.lot.lot_code for a in found.affected])
        if b.decisions and b.decisions[-1].decision != "release"
    }
    held = tuple(
        item.lot.lot_code
        for item in found.affected
        if (item.in_shop or not item.made) and item.lot.lot_code not in stopped
    )
    for code in held:
        writer.decide(stamp, code, "hold", f"recall of {found.lot_code.shown}: {why}")
    return held
