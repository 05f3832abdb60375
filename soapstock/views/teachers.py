"""What the shop's own finished batches say of the drying of the next: its prior."""

from __future__ import annotations

from typing import TYPE_CHECKING

from soapstock.desk.desk import Desk
from soapstock.views.on_a_day import as_of, is_now
from soapstock.views.poured import as_poured, weigh_ins_of

if TYPE_CHECKING:
    from soapstock.cure.teachers import Finished, Kind, Teachers
    from soapstock.ledger.facts import BatchFacts
    from soapstock.ledger.read.reader import Reader


MOST_TEACHERS = 48  # batches; older ones say little of this year's rack
MOST_LATE = 144  # batches more that are looked through for them, as some are entered late


def kind_of(facts: BatchFacts) -> Kind:
    """A batch's recipe, the place it is weighed at and its season."""
    from soapstock.cure.teachers import Kind, season_of

    places = [w.place for w in facts.weigh_ins if w.place]
    places += [at.place for at in facts.held if at.bars > 0 and at.kind == "rack"]
    room = places[0] if places else "rack"
    return Kind(recipe=facts.recipe_code, room=room, season=season_of(facts.poured_on.month))


def _finished(desk: Desk, facts: BatchFacts) -> Finished | None:
    from soapstock.cure.teachers import Finished, is_finished

    if facts.unmould is None or len(facts.weigh_ins) == 0 or facts.pour.from_before:
        return None
    start = as_poured(desk, facts).start
    weigh_ins = tuple(sorted(weigh_ins_of(facts), key=lambda w: w.day))
    if start is None or not is_finished(start, weigh_ins):
        return None
    later = tuple(w for w in weigh_ins if w.day >= start.day)
    return Finished(lot=facts.lot_code, kind=kind_of(facts), start=start, weigh_ins=later)


def recent_teachers(desk: Desk, reader: Reader, *, now: bool) -> Teachers:
    """The shop's latest finished batches: what they taught is the prior of every forecast.

    Only the latest are read, so that a scan stays as quick in a shop of ten thousand batches. When
    it is not `now` but an earlier day, they teach only what was known on that day.
    """
    from soapstock.cure.teachers import Teachers

    codes = reader.batch_codes(MOST_TEACHERS + MOST_LATE if now else None)
    codes.sort(key=lambda code: (code.turn, code))
    if not now:
        codes = [code for code in codes if code.day <= desk.today]
    batches = reader.batches(codes[-MOST_TEACHERS:])
    if not now:
        batches = as_of(reader, batches, desk.today)
    found = [_finished(desk, facts) for facts in batches]
    return Teachers([batch for batch in found if batch is not None])


def shop_teachers(desk: Desk) -> Teachers:
    """The finished batches that teach the shop's forecasts, as it stands."""
    with desk.ledger.read() as reader:
        return recent_teachers(desk, reader, now=is_now(desk, reader))
