"""What a plan is made of: varieties, moulds, the shop's limits; and what comes out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta

from soapstock.planning.demand import Demand


@dataclass(frozen=True, slots=True, kw_only=True)
class Mould:
    """Moulds of one kind.

    Attributes:
        bars: bars that one of them gives; a mould is filled whole or not at all.
        count: how many the shop has.
        days: days from the pour until it is free again, at least 1.
        busy: days from which on each occupied one is free again.
    """

    name: str
    bars: int
    count: int
    days: int = 1
    busy: tuple[date, ...] = ()

    def free_on(self, day: date) -> int:
        """How many stand empty that day, if nothing more is poured."""
        return max(0, self.count - sum(until > day for until in self.busy))


@dataclass(frozen=True, slots=True, kw_only=True)
class Variety:
    """One bar that may be poured.

    Attributes:
        bar_g: batter in one bar, g.
        needs_g: ingredients of one bar, g, by key.
        late_days: days from its pour to when it can be sold, by the late bound.
        there: bars that will be there by the day without another pour, by the late bound.
        least: bars that must be there on the day (such as firm orders).
        price, cost: of one bar, in the same money; what is asked for and not there earns nothing.
        weight: how many of it the maker wants beside the others, 1 for even.
        moulds: names of moulds it may be poured into; empty for all.
    """

    code: str
    bar_g: float
    needs_g: Mapping[str, float]
    late_days: int
    demand: Demand
    there: int = 0
    least: int = 0
    price: float = 1.0
    cost: float = 0.0
    weight: float = 1.0
    moulds: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Task:
    """What is to be planned.

    Attributes:
        first: first day that may be poured on; launch: the day by which bars must be ready.
        working_days: days of the week, Monday 0.
        scarce_g: ingredients that cannot be had besides, g at hand.
        rack_places: bars that the racks hold; None for no limit.
        rack_used: bars that already lie there, day by day from `first` on; then as the last.
        smallest_pot_g, largest_pot_g: batter of one pour, g.
        pots_a_day: pours that one day can hold.
    """

    first: date
    launch: date
    varieties: tuple[Variety, ...]
    moulds: tuple[Mould, ...]
    working_days: frozenset[int] = frozenset(range(7))
    scarce_g: Mapping[str, float] = field(default_factory=dict)
    rack_places: int | None = None
    rack_used: tuple[int, ...] = ()
    smallest_pot_g: float = 0.0
    largest_pot_g: float | None = None
    pots_a_day: int = 1

    def days(self) -> list[date]:
        """Days that may be poured on, from the first to the launch."""
        span = (self.launch - self.first).days
        every = (self.first + timedelta(days=n) for n in range(span + 1))
        return [day for day in every if day.weekday() in self.working_days]

    def last_safe(self, variety: Variety) -> date | None:
        """The last day on which it can be poured and be ready by the launch, by its late bound."""
        limit = self.launch - timedelta(days=variety.late_days)
        return max((day for day in self.days() if day <= limit), default=None)

    def rack_room_on(self, day: date) -> int:
        """Bars that the racks can still take that day, besides those of earlier pours."""
        used = 0
        if self.rack_used:
            used = self.rack_used[min((day - self.first).days, len(self.rack_used) - 1)]
        return max(0, (self.rack_places or 0) - used)


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedPour:
    """One pour of the plan: moulds filled, by name and number."""

    day: date
    code: str
    moulds: tuple[tuple[str, int], ...]
    bars: int
    batter_g: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PourPlan:
    """The best plan.

    Attributes:
        pours: in order of day.
        bars: bars there on the day, by variety, planned ones among them.
        value: expected takings less cost of what is poured, in the task's money.
        sold: expected bars sold.
        gap: how far, at most, a better plan could lie above this one, in the same money.
    """

    pours: tuple[PlannedPour, ...]
    bars: Mapping[str, int]
    value: float
    sold: float
    gap: float
