"""A named person releases, holds or rejects a batch; holds an ingredient lot or lets it go."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from soapstock.cure.words import Decision
from soapstock.desk.desk import Desk, on_day
from soapstock.desk.finding import read_lot
from soapstock.enter.entered import Entered
from soapstock.errors import BadInput, Mend, RuleBroken
from soapstock.units import several
from soapstock.views.batch import BatchView, view
from soapstock.views.history import IngredientHistory, scan

if TYPE_CHECKING:
    from soapstock.codes.lot import LotCode
    from soapstock.ledger.facts import BatchFacts, Stamp
    from soapstock.ledger.write.writer import Writer


def decide(
    desk: Desk,
    lot: str,
    decision: Decision,
    why: str,
    *,
    on: date | None = None,
) -> Entered:
    """Record a named person's decision on a lot, with the reason.

    An ingredient lot can be put on hold, and is let go again by a release.

    Raises:
        RuleBroken: a release while a gate of time, test or weight is still shut.
    """
    if not why.strip():
        raise BadInput(
            f"{decision} needs a reason", mend=Mend("give_reason", example="what you looked at")
        )
    stamp = desk.stamp(on)
    with desk.writing() as (here, writer), here.ledger.read() as reader:
        code = read_lot(here, lot, kind="batch" if decision == "reject" else None)
        if reader.lot_kind(code) == "ingredient":
            return _on_ingredient(here, writer, stamp, code, decision, why.strip())
        if decision == "release":
            _may_release(view(on_day(here, on), code))
        entry = writer.decide(stamp, code, decision, why.strip())
        shipped = reader.recall(code).shipments if decision != "release" else ()
    done = {"release": "released", "hold": "put on hold", "reject": "rejected"}[decision]
    said = f"{code.shown} is {done} by {desk.by}."
    notes: tuple[str, ...] = ()
    if shipped:
        out = (
            f"{several(s.bars, 'bar')}"
            + (f" of {s.lot_code.shown}" if s.lot_code != code else "")
            + f" to {s.customer or s.destination} on {s.on.isoformat()}"
            for s in shipped
        )
        notes = (f"Already out: {'; '.join(out)}.",)
    return Entered(entry_id=entry, lot_code=code, said=said, notes=notes)


def _on_ingredient(
    desk: Desk, writer: Writer, stamp: Stamp, code: LotCode, decision: Decision, why: str
) -> Entered:
    """Hold an ingredient lot, telling what was made of it already, or let it go."""
    with desk.reading() as (here, reader):
        held = bool(reader.ingredient_lot(code).hold_reason)
        made = scan(here, code)
    if held == (decision == "hold"):
        raise RuleBroken(f"{code.shown} is {'on hold already' if held else 'not on hold'}")
    entry = writer.decide(stamp, code, decision, why)
    if decision == "release":
        return Entered(entry_id=entry, lot_code=code, said=f"{code.shown} is let go by {desk.by}.")
    notes = ["No pour, plan or kettle takes from it."]
    if isinstance(made, IngredientHistory):
        if made.rendered:
            notes.append(f"Rendered into {', '.join(lot.shown for lot in made.rendered)}.")
        notes += [_already_made(batch) for batch in made.batches]
    said = f"{code.shown} is put on hold by {desk.by}."
    return Entered(entry_id=entry, lot_code=code, said=said, notes=tuple(notes))


def _already_made(batch: BatchFacts) -> str:
    out = ", ".join(f"{several(s.bars, 'bar')} to {s.customer}" for s in batch.shipments)
    return f"Already in {batch.lot_code.shown} ({batch.recipe_code})" + (
        f"; out: {out}." if out else "."
    )


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
