"""The round with the scale: which batches are worth weighing today, in the order they stand."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from soapstock.codes.lot import LotCode
from soapstock.desk.desk import Desk, one_snapshot
from soapstock.desk.finding import read_lot
from soapstock.errors import RuleBroken
from soapstock.units import several
from soapstock.views.batch import BatchView, view, views
from soapstock.views.today import next_step


@dataclass(frozen=True, slots=True, kw_only=True)
class Stop:
    """One batch of the round.

    Attributes:
        place: where most of its bars stand.
        bars: how many were weighed the last time, as far as so many are there.
        there: how many bars there are to weigh.
        last: the last weigh-in in words; empty when there was none.
    """

    lot_code: LotCode
    name: str
    place: str
    bars: int
    there: int
    last: str


@one_snapshot
def weigh_round(desk: Desk, lots: Sequence[str] = (), place: str | None = None) -> list[Stop]:
    """The batches to weigh, place by place: those named, or all for which a weigh-in pays today.

    With a place and no lots: all that stand there.

    Raises:
        RuleBroken: a batch that was named has no bars to weigh.
    """
    if lots:
        codes = dict.fromkeys(read_lot(desk, lot, kind="batch") for lot in lots)
        items = [view(desk, code) for code in codes]
    elif place is not None:
        items = [item for item in views(desk, in_stock=True) if item.facts.places.get(place)]
    else:
        items = [item for item in views(desk, in_stock=True) if _pays(desk, item)]
    return sorted(map(_stop, items), key=lambda stop: (stop.place, stop.lot_code))


def _pays(desk: Desk, item: BatchView) -> bool:
    if item.facts.unmould is None or item.bars <= 0 or not item.facts.for_sale():
        return False
    step = next_step(desk, item)
    return step is not None and step.what == "weigh" and step.is_due(desk.today)


def _stop(item: BatchView) -> Stop:
    facts = item.facts
    places = facts.for_sale()
    if facts.unmould is None or not places:
        raise RuleBroken(
            f"{facts.lot_code.shown} has no bars to weigh",
            hint="it is still in its mould" if facts.unmould is None else "none is left",
        )
    there = sum(places.values())
    last = facts.weigh_ins[-1] if facts.weigh_ins else None
    return Stop(
        lot_code=facts.lot_code,
        name=item.recipe.name,
        place=max(sorted(places), key=lambda place: places[place]),
        bars=min(last.bars if last else facts.unmould.counted_bars, there),
        there=there,
        last=f"{last.bar_g:.1f} g on {last.on.isoformat()}, {several(last.bars, 'bar')}"
        if last
        else "",
    )
