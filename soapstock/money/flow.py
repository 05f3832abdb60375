"""The flow of cost: from what was bought, through kettle and pot, to each bar and where it went.

A lot's cost is what it cost itself and what came into it from other lots. It leaves the lot piece
by piece, a piece being a milligram of an ingredient or a bar, and every piece of a lot carries the
same: cost of each lot by its own (specific identification, IAS 2 paragraphs 23 and 24, 2003).
What was lost in making, rejects at the mould, is carried by the good bars; bars lost later, or a
pour that gave no good bar, are waste (IAS 2 paragraph 16 (a): abnormal amounts are no cost of
stock).

Cost in equals cost sold, given, wasted, kept and on hand, to the cent; nothing is stored, so an
undone entry leaves no trace.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Literal, NamedTuple

from soapstock.money.share import up_to

Way = Literal["lot", "sold", "given", "wasted", "kept"]


class Step(NamedTuple):
    """Some of a lot left it, or came back when the quantity is below zero.

    `into` is the lot it went into when the way is `lot`.
    """

    entry: int
    lot: int
    way: Way
    quantity: int
    into: int = 0


@dataclass(slots=True, kw_only=True)
class Lot:
    """A lot as the flow needs it.

    Attributes:
        id: number of the entry that opened it, so that a lot is made of lots of lower numbers.
        pieces: how many pieces share its cost; 0 while a batch is in its mould.
        own_cents: what it cost apart from the lots in it.
        known: whether its own cost is known; else it counts for nothing and is named.
    """

    id: int
    pieces: int
    own_cents: int = 0
    known: bool = True


@dataclass(slots=True, kw_only=True)
class LotMoney:
    """What became of a lot's cost.

    Attributes:
        cents: its whole cost.
        left_cents, left: what is still here, cents and pieces.
        came: cents of each use of another lot, by its step.
        went: the steps that left it, each with its cents.
        unknown: lots in it, or itself, whose cost nobody knows; the sum lacks them.
    """

    cents: int
    left_cents: int
    left: int
    came: list[tuple[Step, int]] = field(default_factory=list)
    went: list[tuple[Step, int]] = field(default_factory=list)
    unknown: frozenset[int] = frozenset()


_NONE: frozenset[int] = frozenset()


def flow(lots: Iterable[Lot], steps: Iterable[Step]) -> dict[int, LotMoney]:
    """Follow the cost of every lot.

    Args:
        steps: in the order they were entered.
    """
    leaving: dict[int, list[Step]] = defaultdict(list)
    for step in steps:
        leaving[step.lot].append(step)
    coming: dict[int, list[tuple[Step, int]]] = defaultdict(list)
    unknown: dict[int, frozenset[int]] = defaultdict(frozenset)
    found: dict[int, LotMoney] = {}
    for lot in sorted(lots, key=lambda one: one.id):
        came = coming.pop(lot.id, [])
        cents = lot.own_cents + sum(one[1] for one in came)
        lacking = unknown.pop(lot.id, _NONE)
        if not lot.known:
            lacking |= {lot.id}
        went, gone, done = [], 0, 0
        pieces = lot.pieces or 1
        for step in leaving.pop(lot.id, ()):
            gone += step.quantity
            until = up_to(cents, gone, pieces)
            share = (step, until - done)
            done = until
            went.append(share)
            if step.way == "lot":
                coming[step.into].append(share)
                if lacking:
                    unknown[step.into] |= lacking
        found[lot.id] = LotMoney(
            cents=cents,
            left_cents=cents - done,
            left=lot.pieces - gone,
            came=came,
            went=went,
            unknown=lacking,
        )
    return found


@dataclass(frozen=True, slots=True, kw_only=True)
class Balance:
    """Where all the cost that came in is, in cents; `kept` are bars kept back that carry some."""

    came_in: int
    sold: int
    given: int
    wasted: int
    kept: int
    on_hand: int

    @property
    def gap(self) -> int:
        """What is lost; nothing, always."""
        return self.came_in - self.sold - self.given - self.wasted - self.kept - self.on_hand


def balance(lots: Iterable[Lot], found: Mapping[int, LotMoney]) -> Balance:
    """Where all the cost that came in is."""
    by_way: dict[Way, int] = defaultdict(int)
    for money in found.values():
        for step, cents in money.went:
            by_way[step.way] += cents
    return Balance(
        came_in=sum(lot.own_cents for lot in lots),
        sold=by_way["sold"],
        given=by_way["given"],
        wasted=by_way["wasted"],
        kept=by_way["kept"],
        on_hand=sum(money.left_cents for money in found.values()),
    )
