"""A named person releases, holds or rejects a batch."""

from __future__ import annotations

from datetime import date

from soapstock.cure.words import Decision
from soapstock.desk.desk import Desk, on_day
from soapstock.desk.finding import read_lot
from soapstock.enter.entered import Entered
from soapstock.errors import BadInput, Mend, RuleBroken
from soapstock.units import several
from soapstock.views.batch import BatchView, view


def decide(
    desk: Desk,
    lot: str,
    decision: Decision,
    why: str,
    *,
    on: date | None = None,
) -> Entered:
    """Record a named person's decision on a batch, with the reason.

    Raises:
        RuleBroken: a release while a gate of time, test or weight is still shut.
    """
    if not why.strip():
        raise BadInput(
            f"{decision} needs a reason", mend=Mend("give_reason", example="what you looked at")
        )
    stamp = desk.stamp(on)
    with desk.writing() as (here, writer), here.ledger.read() as reader:
        code = read_lot(here, lot, kind="batch")
        if decision == "release":
            _may_release(view(on_day(here, on), code))
        entry = writer.decide(stamp, code, decision, why.strip())
        shipped = reader.batch(code).shipments
    done = {"release": "released", "hold": "put on hold", "reject": "rejected"}[decision]
    said = f"{code.shown} is {done} by {desk.by}."
    notes: tuple[str, ...] = ()
    if decision != "release" and shipped:
        out = (f"{several(s.bars, 'bar')} to {s.customer} on {s.on.isoformat()}" for s in shipped)
        notes = (f"Already out: {'; '.join(out)}.",)
    return Entered(entry_id=entry, lot_code=code, said=said, notes=notes)


def _may_release(item: BatchView) -> None:
    """Raise RuleBroken unless a batch may be released.

    All other gates must be open. A hold is lifted only by a free-alkali test made since, and a
    batch whose lye was refused at the pour only by a titration that passed.
    """
    code = item.facts.lot_code.shown
    if item.readiness.state == "rejected":
        raise RuleBroken(f"{code} was rejected", hint="a rejected batch stays so")
    shut = [g for name, g in item.readiness.gates.items() if name != "released" and not g.open]
    if shut:
        raise RuleBroken(
            f"{code} cannot be released: {shut[0].name}: {shut[0].reason}",
            hint="; ".join(f"{g.name}: {g.reason}" for g in shut[1:])
            or "when that gate opens, release again",
        )
    passed = [t for t in item.facts.tests if t.passed and t.method != "ph"]
    last = item.facts.decisions[-1] if item.facts.decisions else None
    if last is not None and last.decision == "hold" and not any(t.on >= last.on for t in passed):
        raise RuleBroken(
            f"{code} is on hold since {last.on.isoformat()} and was not tested since",
            hint=f"held because: {last.reason}. Test it again, then release it",
        )
    doubted = item.judgement.get("doubted")
    why = ""
    if item.judged == "refuse":
        why = "was poured with refused lye: a tongue test is not enough"
    elif doubted:
        why = f"holds rebatched soap in doubt ({'; '.join(map(str, doubted))})"
    if why and not any(t.method == "titration" for t in passed):
        raise RuleBroken(
            f"{code} {why}",
            hint="titrate it, or reject it",
            mend=Mend("record_titration", lot=code),
        )
