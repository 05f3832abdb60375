"""How any fact enters the ledger: checked stamp, client key, stock check, hash, rows, in one go."""

from __future__ import annotations

import difflib
import functools
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any, Concatenate, ParamSpec, TypeVar, cast

from sqlalchemy import Connection, Table, func, insert, select

from soapstock.codes.lot import LotCode
from soapstock.cure.words import deciding_test
from soapstock.errors import Mend, NotFound, RuleBroken
from soapstock.ledger.base.chain import FIRST_HASH, entry_hash
from soapstock.ledger.base.client_keys import already_entered, entry_of_key
from soapstock.ledger.base.tables import DECISION, ENTRY, LOT, PLACE, POSTING, TEST, not_undone
from soapstock.ledger.facts import MOVED, Stamp
from soapstock.ledger.places import KINDS, PlaceKind, Use
from soapstock.ledger.write import guards
from soapstock.units import quantity_words


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenLot:
    """A live lot as the writer needs it."""

    id: int
    code: LotCode
    kind: str
    item: str
    opened_on: date

    @property
    def unit(self) -> str:
        """What it is counted in once it can be moved."""
        return "mg" if self.kind == "ingredient" else "bars"


@dataclass(frozen=True, slots=True, kw_only=True)
class Move:
    """One posting to be: `quantity` of a lot comes to `place`, or leaves it when negative."""

    lot: OpenLot
    unit: str
    place: str
    quantity: int


Rows = Sequence[tuple[Table, Mapping[str, Any]]]
P = ParamSpec("P")
W = TypeVar("W", bound="WriterCore")


def fact(
    method: Callable[Concatenate[W, Stamp, P], int],
) -> Callable[Concatenate[W, Stamp, P], int]:
    """Make a method count once for one client key, and check its stamp.

    Raises:
        RuleBroken: the key was used for something else.
        AlreadyEntered: the sender's words came before, in an earlier transaction.
    """

    @functools.wraps(method)
    def once(self: W, stamp: Stamp, /, *args: P.args, **kwargs: P.kwargs) -> int:
        stamp, self.client_sha256 = self.keyed(guards.stamp(stamp))
        return method(self, stamp, *args, **kwargs)

    return once


class WriterCore:
    """The machinery under the Writer; its methods see a locked ledger."""

    def __init__(self, connection: Connection) -> None:
        self.db = connection
        self.client_sha256: str | None = None
        head = connection.execute(
            select(ENTRY.c.id, ENTRY.c.hash, ENTRY.c.kind, ENTRY.c.summary)
            .order_by(ENTRY.c.id.desc())
            .limit(1)
        ).first()
        self._moved = head.summary if head and head.kind == MOVED else ""
        self.head_id: int = head.id if head else 0
        self.began_after = self.head_id
        self.head_hash: str = head.hash if head else FIRST_HASH

    @property
    def next_id(self) -> int:
        """The id the next entry gets; ids have no gaps."""
        return int(self.head_id) + 1

    def keyed(self, stamp: Stamp) -> tuple[Stamp, str | None]:
        """The stamp whose key stands for the whole transaction: its first entry bears it.

        Raises:
            RuleBroken: the key was used for something else.
            AlreadyEntered: an earlier transaction recorded the same.
        """
        if stamp.client_key is None:
            return stamp, None
        seen = entry_of_key(self.db, stamp.client_key, stamp.client_said)
        if seen is None:
            return stamp, stamp.client_said
        if seen <= self.began_after:
            raise already_entered(self.db, seen)
        return replace(stamp, client_key=None), None

    def enter(
        self,
        stamp: Stamp,
        kind: str,
        *,
        summary: str,
        facts: Rows = (),
        moves: Sequence[Move] = (),
        lot_id: int | None = None,
        undoes: int | None = None,
    ) -> int:
        """Check the stock, chain the entry and write all its rows.

        Raises:
            RuleBroken: a place would hold less than nothing, or more than it can, or the ledger
                moved elsewhere.
        """
        if undoes is None or undoes != self.head_id:
            self.refuse_moved()
        entry_id = self.next_id
        kept = [move for move in moves if move.quantity]
        self._check_stock(kept, entry_id)
        rows: list[tuple[Table, Mapping[str, Any]]] = list(facts)
        rows += [
            (
                POSTING,
                {
                    "entry_id": entry_id,
                    "line": line,
                    "lot_id": move.lot.id,
                    "unit": move.unit,
                    "place": move.place,
                    "quantity": move.quantity,
                },
            )
            for line, move in enumerate(kept, 1)
        ]
        entry = {
            "id": entry_id,
            "kind": kind,
            "happened_on": stamp.happened_on,
            "entered_at": stamp.entered_at,
            "by": stamp.by,
            "note": stamp.note,
            "summary": summary,
            "client_key": stamp.client_key,
            "client_sha256": self.client_sha256,
            "undoes": undoes,
            "lot_id": lot_id,
            "prev_hash": self.head_hash,
        }
        digest = entry_hash(self.head_hash, ENTRY, entry, rows)
        self.db.execute(insert(ENTRY), entry | {"hash": digest})
        for table, row in rows:
            self.db.execute(insert(table), {c.name: row.get(c.name) for c in table.columns})
        self.head_id, self.head_hash, self.client_sha256 = entry_id, digest, None
        self._moved = summary if kind == MOVED else ""
        return entry_id

    @fact
    def hand_over(self, stamp: Stamp, to: str) -> int:
        """Close this ledger: it went to another database, named without a password."""
        return self.enter(stamp, MOVED, summary=f"moved to {to}")

    def refuse_moved(self) -> None:
        """Refuse an entry into a ledger that is kept elsewhere now. Raises RuleBroken."""
        if self._moved:
            raise RuleBroken(
                f"this ledger {self._moved} and takes no entries",
                hint="name that one in shop.toml",
                mend=Mend("undo", entry=self.head_id),
            )

    def _check_stock(self, moves: Sequence[Move], entry_id: int) -> None:
        totals: dict[tuple[int, str], int] = {}
        change: dict[tuple[int, str, str], int] = {}
        lots = {move.lot.id: move.lot for move in moves}
        for move in moves:
            key = (move.lot.id, move.unit)
            totals[key] = totals.get(key, 0) + move.quantity
            spot = (*key, move.place)
            change[spot] = change.get(spot, 0) + move.quantity
        if any(totals.values()):
            raise AssertionError("an entry's postings must sum to zero per lot and unit")
        for (lot_id, unit, place), delta in change.items():
            if delta < 0 and not self.use_of(place).free:
                held = 0 if lot_id == entry_id else self.held(lot_id, unit).get(place, 0)
                if held + delta < 0:
                    self._refuse_short(lots[lot_id], unit, place, held, -delta)
            elif delta > 0 and unit == "bars":
                self._check_room(place, delta)

    def _refuse_short(self, lot: OpenLot, unit: str, place: str, held: int, wanted: int) -> None:
        raise RuleBroken(
            f"{lot.code} has {quantity_words(held, unit)} at {place}; "
            f"cannot take {quantity_words(wanted, unit)}",
            mend=Mend("see_history", lot=lot.code),
        )

    def _check_room(self, place: str, coming: int) -> None:
        capacity = self.db.execute(
            select(PLACE.c.capacity_bars).where(PLACE.c.name == place)
        ).scalar()
        if capacity is None:
            return
        there = self.db.execute(
            select(func.coalesce(func.sum(POSTING.c.quantity), 0)).where(
                POSTING.c.place == place, POSTING.c.unit == "bars"
            )
        ).scalar_one()
        if int(there) + coming > capacity:
            raise RuleBroken(
                f"{place} holds {capacity} bars and has {there}; {coming} more do not fit",
                hint="choose another place, or move some first",
            )

    def refuse_reserved(self, lot: OpenLot, bars: int, order_ref: str = "") -> None:
        """Refuse to take bars kept for another order; the part that knows of orders fills it in."""

    def held(self, lot_id: int, unit: str) -> dict[str, int]:
        """What a lot has at each place."""
        rows = self.db.execute(
            select(POSTING.c.place, func.sum(POSTING.c.quantity))
            .where(POSTING.c.lot_id == lot_id, POSTING.c.unit == unit)
            .group_by(POSTING.c.place)
        )
        return {place: int(quantity) for place, quantity in rows}

    def use_of(self, place: str) -> Use:
        """What a place is for. Raises NotFound naming the places there are."""
        return KINDS[self.place_kind(place)]

    def place_kind(self, name: str) -> PlaceKind:
        """The kind of a place. Raises NotFound naming the places there are."""
        kind = self.db.execute(select(PLACE.c.kind).where(PLACE.c.name == name)).scalar()
        if kind is None:
            names = self.db.execute(select(PLACE.c.name).order_by(PLACE.c.name)).scalars()
            raise NotFound(f"no place '{name!s:.40}'", hint="places: " + ", ".join(names))
        return cast("PlaceKind", kind)

    def lot(self, code: str, kind: str | None = None) -> OpenLot:
        """The live lot of a code. Raises NotFound, or RuleBroken when it is of the other kind."""
        code = guards.lot_code(code)
        lot = self.find_lot(code)
        if lot is None:
            known = list(self.db.execute(select(LOT.c.code).distinct()).scalars())
            near = difflib.get_close_matches(code, known, n=3)
            hint = f"did you mean {', '.join(near)}?" if near else "check the code"
            raise NotFound(f"no lot {code}", hint=hint)
        if kind is not None and lot.kind != kind:
            words = {"batch": "a lot of bars", "ingredient": "an ingredient lot"}
            raise RuleBroken(f"{code} is {words[lot.kind]}, not {words[kind]}")
        return lot

    def codes_ever_used(self) -> list[LotCode]:
        """Every lot code that ever stood in the ledger, undone ones too: none is given twice."""
        return list(map(LotCode, self.db.execute(select(LOT.c.code)).scalars()))

    def find_lot(self, code: str) -> OpenLot | None:
        """The live lot of a code, or None."""
        row = self.db.execute(
            select(LOT, ENTRY.c.happened_on)
            .join(ENTRY, ENTRY.c.id == LOT.c.id)
            .where(LOT.c.code == code, not_undone(LOT.c.id))
        ).first()
        if row is None:
            return None
        return OpenLot(
            id=row.id,
            code=LotCode(row.code),
            kind=row.kind,
            item=row.item,
            opened_on=row.happened_on,
        )

    def refuse_before(self, stamp: Stamp, lot: OpenLot, what: str) -> None:
        """Raise RuleBroken when a fact is dated before its lot began."""
        if stamp.happened_on < lot.opened_on:
            began = "poured" if lot.kind == "batch" else "received"
            raise RuleBroken(
                f"{what} of {lot.code} on {stamp.happened_on} is before it was {began} "
                f"on {lot.opened_on}",
                hint="check the date",
            )

    def stopped(self, lot: OpenLot) -> str:
        """What stops a batch from being sold, in words such as `is on hold`; empty if nothing."""
        last = self.live_fact(DECISION, lot.id)
        if last is not None and last.decision == "reject":
            return "is rejected"
        speaks = deciding_test(self._tests(lot))
        if speaks is not None and not speaks.passed:
            return "failed a test for free alkali"
        return "is on hold" if last is not None and last.decision == "hold" else ""

    def last_failure(self, lot: OpenLot) -> int:
        """Entry of the newest failed test of a batch, 0 without one; it ends a release before."""
        return max((test.entry_id for test in self._tests(lot) if not test.passed), default=0)

    def _tests(self, lot: OpenLot) -> Sequence[Any]:
        return self.db.execute(
            select(TEST)
            .where(TEST.c.lot_id == lot.id, not_undone(TEST.c.entry_id))
            .order_by(TEST.c.entry_id)
        ).all()

    def live_fact(self, table: Table, lot_id: int) -> Any:
        """The newest row of a fact table about a lot not undone, with its date, or None."""
        return self.db.execute(
            select(table, ENTRY.c.happened_on)
            .join(ENTRY, ENTRY.c.id == table.c.entry_id)
            .where(table.c.lot_id == lot_id, not_undone(table.c.entry_id))
            .order_by(table.c.entry_id.desc())
            .limit(1)
        ).first()
