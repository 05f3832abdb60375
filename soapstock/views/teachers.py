"""What the shop's own finished batches say of the drying of the next: its prior."""

from __future__ import annotations

from statistics import fmean
from typing import TYPE_CHECKING

from soapstock.codes.lot import split
from soapstock.desk.desk import Desk
from soapstock.desk.room_log import room_log
from soapstock.views.on_a_day import as_of, is_now
from soapstock.views.poured import as_poured, weigh_ins_of

if TYPE_CHECKING:
    from soapstock.cure.kin import Finished, Kin, Kind, Slope
    from soapstock.desk.room_log import RoomLog
    from soapstock.ledger.facts import BatchFacts
    from soapstock.ledger.read.reader import Reader


MOST_TEACHERS = 48  # batches; older ones say little of this year's rack
MOST_LATE = 144  # batches more that are looked through for them, as some are entered late


def kind_of(facts: BatchFacts, log: RoomLog | None = None) -> Kind:
    """A batch's recipe, the place it is weighed at, its season, and its room's mean records.

    Args:
        facts: of the batch.
        log: a logger's records; they count beside those taken with the weigh-ins.
    """
    from soapstock.cure.kin import Kind, season_of

    places = [w.place for w in facts.weigh_ins if w.place]
    places += [at.place for at in facts.held if at.bars > 0 and at.kind == "rack"]
    room = places[0] if places else "rack"
    warm = [w.room_c for w in facts.weigh_ins if w.room_c is not None]
    damp = [w.room_rh for w in facts.weigh_ins if w.room_rh is not None]
    if log is not None and facts.weigh_ins:
        more_warm, more_damp = log.between(room, facts.poured_on, facts.weigh_ins[-1].on)
        warm, damp = [*warm, *more_warm], [*damp, *more_damp]
    return Kind(
        recipe=facts.recipe_code,
        room=room,
        season=season_of(facts.poured_on.month),
        room_c=fmean(warm) if warm else None,
        room_rh=fmean(damp) if damp else None,
    )


def _finished(desk: Desk, facts: BatchFacts, log: RoomLog | None) -> Finished | None:
    from soapstock.cure.kin import Finished, is_finished

    if facts.unmould is None or len(facts.weigh_ins) == 0:
        return None
    start = as_poured(desk, facts).start
    weigh_ins = tuple(sorted(weigh_ins_of(facts), key=lambda w: w.day))
    if start is None or not is_finished(start, weigh_ins):
        return None
    later = tuple(w for w in weigh_ins if w.day >= start.day)
    return Finished(lot=facts.lot_code, kind=kind_of(facts, log), start=start, weigh_ins=later)


def recent_kin(desk: Desk, reader: Reader, log: RoomLog | None, *, now: bool) -> Kin:
    """The shop's latest finished batches: what they taught is the prior of every forecast.

    Only the latest are read, so that a scan stays as quick in a shop of ten thousand batches. When
    it is not `now` but an earlier day, they teach only what was known on that day.
    """
    from soapstock.cure.kin import Kin

    codes = reader.batch_codes(MOST_TEACHERS + MOST_LATE if now else None)
    codes.sort(key=lambda code: (code[-7:-1], code))  # year, day and letter of the pour
    if not now:
        codes = [code for code in codes if split(code).day <= desk.today]
    batches = reader.batches(codes[-MOST_TEACHERS:])
    if not now:
        batches = as_of(reader, batches, desk.today)
    found = [_finished(desk, facts, log) for facts in batches]
    return Kin([batch for batch in found if batch is not None])


def shop_kin(desk: Desk) -> Kin:
    """The finished batches that teach the shop's forecasts, as it stands."""
    with desk.ledger.read() as reader:
        return recent_kin(desk, reader, room_log(desk), now=is_now(desk, reader))


def slopes(desk: Desk) -> tuple[Slope, ...]:
    """What warmth and damp are seen to do in this shop; empty without enough records."""
    return shop_kin(desk).slopes()
