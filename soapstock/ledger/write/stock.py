"""Writing where stock goes: moves, shipments, returns, samples, waste, counts, places; and undo."""

from __future__ import annotations

from typing import Any, get_args

from sqlalchemy import false, func, select

from soapstock.codes.lot import LotCode
from soapstock.errors import BadInput, Mend, NotFound, RuleBroken
from soapstock.ledger.base.tables import (
    DECISION,
    ENTRY,
    LOT,
    MOVEMENT,
    PLACE,
    POSTING,
    SALE,
    UNMOULD,
    USE,
    not_undone,
)
from soapstock.ledger.facts import GivenFor, Sale, Stamp, columns_of
from soapstock.ledger.places import kinds_that
from soapstock.ledger.write import guards
from soapstock.ledger.write.core import (
    Move,
    OpenLot,
    Rows,
    WriterCore,
    fact,
)
from soapstock.units import quantity_words

# They stay: nothing is gained by undoing them, and each says what to do instead.
LASTING_KINDS = {
    "recipe": "add a corrected version",
    "place": "leave the place unused",
    "invoice": "an invoice is corrected by a credit note",
    "credit note": "give another invoice",
}
PAST = {
    "move": "moved",
    "ship": "shipped",
    "return": "took back",
    "retain": "kept",
    "waste": "threw away",
    "give": "gave",
}
OF_UNMOULDED = (
    "weigh",
    "release",
    "move",
    "ship",
    "return",
    "retain",
    "waste",
    "count",
    "labels",
    "declare",
    "give",
)


class StockWriter(WriterCore):
    """The facts of stock."""

    @fact
    def move(
        self, stamp: Stamp, lot: str, quantity: int, unit: str, from_place: str, to_place: str
    ) -> int:
        """Move some of a lot between places that hold stock.

        Raises:
            RuleBroken: too little there, or a place that needs another command.
        """
        held = self.lot(lot)
        self._check_unit(held, unit)
        for place, fit in ((from_place, "holds"), (to_place, "for_sale")):
            if not getattr(self.use_of(place), fit):
                raise RuleBroken(
                    f"a move cannot use {place}",
                    hint="use ship, return, retain, waste or count for that",
                )
        if self.place_kind(from_place) == "returned" and not stamp.note:
            raise RuleBroken(
                "returned bars are held apart",
                mend=Mend("give_note", example="why they may go back to stock"),
            )
        if self.place_kind(to_place) == "shelf":
            self._refuse_stopped(held)
        return self._carry(stamp, "move", held, quantity, from_place, to_place)

    @fact
    def ship(
        self,
        stamp: Stamp,
        lot: str,
        bars: int,
        from_place: str,
        customer: str,
        order_ref: str = "",
        destination: str = "",
        sale: Sale | None = None,
    ) -> int:
        """Send released bars to a customer, for what the sale says if it is known.

        Raises:
            RuleBroken: not released, too few there, held for another order, or held apart.
        """
        batch = self.lot(lot, "batch")
        self._refuse_unreleased(stamp, batch)
        if not self.use_of(from_place).for_sale:
            raise RuleBroken(f"bars at {from_place} are not for sale", hint="ship from a shelf")
        self.refuse_reserved(batch, bars, order_ref)
        return self._carry(
            stamp,
            "ship",
            batch,
            bars,
            from_place,
            "customer",
            facts=self.sale_rows(sale, bars),
            customer=guards.text("customer", customer, required=True),
            order_ref=guards.text("order reference", order_ref),
            destination=guards.text("destination", destination, limit=guards.LONG),
        )

    @fact
    def take_back(
        self,
        stamp: Stamp,
        lot: str,
        bars: int,
        customer: str,
        order_ref: str = "",
        reason: str = "",
        sale: Sale | None = None,
    ) -> int:
        """Take bars back from a customer; they are held apart at `returned`.

        Args:
            sale: what is paid back for them, as the sale of so many bars would bring in.

        Raises:
            RuleBroken: that customer did not get so many.
        """
        batch = self.lot(lot, "batch")
        who = guards.text("customer", customer, required=True)
        sent = self._sent_to(batch.id, who)
        if guards.whole("bars", bars, high=guards.MAX_BARS) > sent:
            raise RuleBroken(f"{who} has {sent} bars of {batch.code}; cannot take back {bars}")
        return self._carry(
            stamp,
            "return",
            batch,
            bars,
            "customer",
            "returned",
            facts=self.sale_rows(sale, bars),
            customer=who,
            order_ref=guards.text("order reference", order_ref),
            reason=guards.text("reason", reason, limit=guards.LONG),
        )

    @fact
    def give(
        self, stamp: Stamp, lot: str, bars: int, from_place: str, given_for: str, to: str = ""
    ) -> int:
        """Give bars away, or use them oneself; neither sold nor waste.

        Raises:
            RuleBroken: not released where others get them, on hold or rejected, or too few there.
        """
        batch = self.lot(lot, "batch")
        guards.one_of("what they were given for", given_for, get_args(GivenFor))
        if given_for != "own use":
            self._refuse_unreleased(stamp, batch)
        elif stopped := self.stopped(batch):
            raise RuleBroken(f"{batch.code} {stopped}: not for use", hint="keep it apart")
        self._refuse_odd_source(from_place)
        if self.use_of(from_place).for_sale:
            self.refuse_reserved(batch, bars)
        return self._carry(
            stamp,
            "give",
            batch,
            bars,
            from_place,
            "given",
            reason=given_for,
            customer=guards.text("who got them", to),
        )

    @fact
    def retain(self, stamp: Stamp, lot: str, bars: int, from_place: str = "rack") -> int:
        """Keep bars as samples. Raises RuleBroken when there are too few."""
        batch = self.lot(lot, "batch")
        self._refuse_odd_source(from_place)
        if self.use_of(from_place).for_sale:
            self.refuse_reserved(batch, bars)
        return self._carry(stamp, "retain", batch, bars, from_place, "retained")

    @fact
    def waste(
        self, stamp: Stamp, lot: str, quantity: int, from_place: str, reason: str = ""
    ) -> int:
        """Throw some of a lot away. Raises BadInput without a reason."""
        held = self.lot(lot)
        self._refuse_odd_source(from_place)
        why = guards.text("the reason", reason, limit=guards.LONG, required=True)
        return self._carry(stamp, "waste", held, quantity, from_place, "waste", reason=why)

    @fact
    def count(self, stamp: Stamp, lot: str, place: str, counted: int) -> int:
        """Record what was counted; the difference is posted, and the note explains it."""
        held = self.lot(lot)
        self._refuse_odd_source(place)
        self.refuse_before(stamp, held, "count")
        guards.whole("counted", counted, low=0)
        if held.unit == "bars":
            self._refuse_invented(held, place, counted)
        booked = self.held(held.id, held.unit).get(place, 0)
        gap = counted - booked
        row = self._movement(held, abs(gap), "count-difference", place)
        if gap < 0:
            row |= {"from_place": place, "to_place": "count-difference"}
        row |= {"counted": counted, "reason": stamp.note}
        moves = [
            Move(lot=held, unit=held.unit, place="count-difference", quantity=-gap),
            Move(lot=held, unit=held.unit, place=place, quantity=gap),
        ]
        words = quantity_words(counted, held.unit)
        said = "as booked" if not gap else f"booked {quantity_words(booked, held.unit)}"
        return self.enter(
            stamp,
            "count",
            lot_id=held.id,
            facts=[(MOVEMENT, row)],
            moves=moves,
            summary=f"counted {words} of {held.code} at {place}, {said}",
        )

    @fact
    def add_place(
        self, stamp: Stamp, name: str, kind: str, capacity_bars: int | None = None
    ) -> int:
        """Add a named place, such as `rack-2`. Raises RuleBroken when it is there already."""
        name = guards.text("place", name, limit=40, required=True)
        guards.one_of("kind of place", kind, tuple(sorted(kinds_that("added"))))
        if self.db.execute(select(PLACE.c.name).where(PLACE.c.name == name)).first():
            raise RuleBroken(f"place {name} is there already")
        if capacity_bars is not None:
            guards.whole("capacity in bars", capacity_bars, high=guards.MAX_BARS)
        row = {
            "name": name,
            "kind": kind,
            "capacity_bars": capacity_bars,
            "entry_id": self.next_id,
        }
        return self.enter(
            stamp, "place", facts=[(PLACE, row)], summary=f"new place {name} ({kind})"
        )

    @fact
    def undo(self, stamp: Stamp, entry_id: int, because: str) -> int:
        """Reverse an entry by a new one with its postings negated.

        Raises:
            NotFound: no such entry.
            RuleBroken: undone already, itself an undo, dated before what it undoes, or a later
                entry builds on it (named).
        """
        why = guards.text("the reason", because, limit=guards.LONG, required=True)
        entry = self._entry_to_undo(entry_id)
        if stamp.happened_on < entry.happened_on:
            raise RuleBroken(
                f"entry {entry_id} happened on {entry.happened_on}; "
                f"it cannot have been undone on {stamp.happened_on}",
                hint="check the date",
            )
        self._refuse_needed(entry)
        moves = []
        for row in self.db.execute(
            select(POSTING, LOT.c.code, LOT.c.kind, LOT.c.item)
            .join(LOT, LOT.c.id == POSTING.c.lot_id)
            .where(POSTING.c.entry_id == entry_id)
            .order_by(POSTING.c.line)
        ):
            lot = OpenLot(
                id=row.lot_id,
                code=LotCode(row.code),
                kind=row.kind,
                item=row.item,
                opened_on=entry.happened_on,
            )
            moves.append(Move(lot=lot, unit=row.unit, place=row.place, quantity=-row.quantity))
        self._refuse_taken(entry, moves)
        self._refuse_returned(entry)
        noted = Stamp(
            happened_on=stamp.happened_on,
            entered_at=stamp.entered_at,
            by=stamp.by,
            note=why,
            client_key=stamp.client_key,
        )
        return self.enter(
            noted,
            "undo",
            lot_id=entry.lot_id,
            moves=moves,
            undoes=entry_id,
            summary=f"undid entry {entry_id} ({entry.summary})",
        )

    def _entry_to_undo(self, entry_id: int) -> Any:
        guards.whole("entry number", entry_id, high=2**31 - 1)
        entry = self.db.execute(select(ENTRY).where(ENTRY.c.id == entry_id)).first()
        if entry is None:
            raise NotFound(f"no entry {entry_id}", mend=Mend("list_entries"))
        by = self.db.execute(select(ENTRY.c.id).where(ENTRY.c.undoes == entry_id)).scalar()
        if by is not None:
            raise RuleBroken(f"entry {entry_id} was undone already, by entry {by}")
        if entry.undoes is not None:
            raise RuleBroken(
                f"entry {entry_id} is an undo and stays", hint="enter the fact again instead"
            )
        if entry.kind in LASTING_KINDS:
            raise RuleBroken(
                f"entry {entry_id} is the {entry.kind} itself, which stays",
                hint=LASTING_KINDS[entry.kind],
            )
        return entry

    def _refuse_needed(self, entry: Any) -> None:
        """Refuse when a later entry makes no sense without this one."""
        later = (
            select(ENTRY.c.id, ENTRY.c.summary)
            .where(ENTRY.c.id > entry.id, ENTRY.c.undoes.is_(None))
            .where(not_undone(ENTRY.c.id))
            .order_by(ENTRY.c.id.desc())
            .limit(1)
        )
        if entry.kind in {"receive", "pour"}:
            using = select(USE.c.entry_id).where(USE.c.lot_id == entry.id)
            later = later.where((ENTRY.c.lot_id == entry.id) | ENTRY.c.id.in_(using))
        elif entry.kind == "unmould":
            later = later.where(ENTRY.c.lot_id == entry.lot_id, ENTRY.c.kind.in_(OF_UNMOULDED))
        elif entry.kind == "release":
            until = self.db.execute(
                select(func.min(DECISION.c.entry_id)).where(
                    DECISION.c.lot_id == entry.lot_id, DECISION.c.entry_id > entry.id
                )
            ).scalar()
            later = later.where(ENTRY.c.lot_id == entry.lot_id, ENTRY.c.kind.in_(("ship", "give")))
            if until is not None:
                later = later.where(ENTRY.c.id < until)
        elif entry.kind == "declare":
            later = later.where(ENTRY.c.lot_id == entry.lot_id, ENTRY.c.kind == "ship")
        else:
            later = self.needed_by(entry, later)
        needing = self.db.execute(later).first()
        if needing is not None:
            _refuse_undo(entry.id, needing)

    def needed_by(self, entry: Any, later: Any) -> Any:
        """Narrow `later` to what builds on an entry of another kind; here nothing can."""
        return later.where(false())

    def _refuse_taken(self, entry: Any, moves: list[Move]) -> None:
        """Refuse, naming the newest taker, when the reversal would leave a place below zero."""
        for move in moves:
            if move.quantity >= 0 or self.use_of(move.place).free:
                continue
            if self.held(move.lot.id, move.unit).get(move.place, 0) + move.quantity >= 0:
                continue
            needing = self.db.execute(
                select(ENTRY.c.id, ENTRY.c.summary)
                .join(POSTING, POSTING.c.entry_id == ENTRY.c.id)
                .where(
                    POSTING.c.lot_id == move.lot.id,
                    POSTING.c.place == move.place,
                    POSTING.c.quantity < 0,
                    ENTRY.c.id > entry.id,
                    ENTRY.c.undoes.is_(None),
                    not_undone(ENTRY.c.id),
                )
                .order_by(ENTRY.c.id.desc())
                .limit(1)
            ).first()
            if needing is not None:
                _refuse_undo(entry.id, needing)

    def _refuse_returned(self, entry: Any) -> None:
        """Refuse to take a shipment back from a customer who has returned bars of it."""
        sent = self.db.execute(
            select(MOVEMENT.c.lot_id, MOVEMENT.c.customer, MOVEMENT.c.quantity).where(
                MOVEMENT.c.entry_id == entry.id, MOVEMENT.c.to_place == "customer"
            )
        ).first()
        if sent is None or self._sent_to(sent.lot_id, sent.customer) >= sent.quantity:
            return
        returned = self.db.execute(
            select(ENTRY.c.id, ENTRY.c.summary)
            .join(MOVEMENT, MOVEMENT.c.entry_id == ENTRY.c.id)
            .where(
                MOVEMENT.c.lot_id == sent.lot_id,
                MOVEMENT.c.customer == sent.customer,
                MOVEMENT.c.from_place == "customer",
                not_undone(ENTRY.c.id),
            )
            .order_by(ENTRY.c.id.desc())
            .limit(1)
        ).one()
        _refuse_undo(entry.id, returned)

    def sale_rows(self, sale: Sale | None, bars: int, sold: int | None = None) -> Rows:
        """The row that says what bars were sold for; none where nobody knows.

        Args:
            sold: the entry that moved them; the one to come unless given.
        """
        if sale is None:
            return []
        row: dict[str, Any] = {"entry_id": self.next_id, "sold": sold or self.next_id}
        row |= {name: getattr(sale, name) for name in columns_of(Sale)}
        for name in ("price", "discount", "postage", "tax"):
            cents = row[f"{name}_cents"]
            guards.whole(f"{name} in cents", cents, low=0, high=guards.MAX_CENTS)
        if sale.goods_cents(guards.whole("bars", bars, high=guards.MAX_BARS)) < 0:
            raise BadInput("the discount is more than the bars cost")
        row["buyer"] = guards.text("kind of buyer", sale.buyer, limit=40, required=True)
        row["currency"] = guards.text("currency", sale.currency, limit=10)
        return [(SALE, row)]

    def _check_unit(self, lot: OpenLot, unit: str) -> None:
        guards.one_of("unit", unit, ("mg", "bars"))
        if unit != lot.unit:
            raise RuleBroken(f"{lot.code} is counted in {lot.unit}, not {unit}")

    def _refuse_odd_source(self, place: str) -> None:
        if not self.use_of(place).holds:
            raise RuleBroken(f"nothing lies at {place} to take or count")

    def _refuse_stopped(self, lot: OpenLot) -> None:
        """Bars on hold or rejected stand where no customer takes them for sold."""
        stopped = self.stopped(lot)
        if stopped:
            raise RuleBroken(
                f"{lot.code} {stopped}: not onto a shelf",
                hint="keep it apart on the rack; a rejected batch goes to waste",
            )

    def _refuse_invented(self, lot: OpenLot, place: str, counted: int) -> None:
        """A count finds no more bars than ever came out of the mould."""
        out = self.live_fact(UNMOULD, lot.id)
        made = out.bars + out.rejects if out is not None else 0
        elsewhere = sum(
            bars
            for name, bars in self.held(lot.id, "bars").items()
            if name != place and self.use_of(name).real
        )
        if counted + elsewhere > made:
            raise RuleBroken(
                f"{quantity_words(counted, 'bars')} of {lot.code} at {place} and {elsewhere} "
                f"elsewhere are more than the {made} it had",
                hint="count again; is it another lot?",
            )

    def _refuse_unreleased(self, stamp: Stamp, batch: OpenLot) -> None:
        last = self.live_fact(DECISION, batch.id)
        stopped = self.stopped(batch)
        if last is None or last.entry_id < self.last_failure(batch):
            stopped = stopped or "is not released"
        if last is None or stopped:
            raise RuleBroken(
                f"{batch.code} {stopped}; it cannot ship",
                mend=Mend("release", lot=batch.code),
            )
        if stamp.happened_on < last.happened_on:
            raise RuleBroken(
                f"{batch.code} was released on {last.happened_on}; "
                f"it cannot have shipped on {stamp.happened_on}",
                hint="check the date",
            )

    def _sent_to(self, lot_id: int, customer: str) -> int:
        """Bars of a lot that a customer has: sent to them, less what they returned."""
        rows = self.db.execute(
            select(MOVEMENT.c.to_place, MOVEMENT.c.quantity).where(
                MOVEMENT.c.lot_id == lot_id,
                MOVEMENT.c.customer == customer,
                MOVEMENT.c.to_place != "given",
                not_undone(MOVEMENT.c.entry_id),
            )
        )
        return sum(int(q) if place == "customer" else -int(q) for place, q in rows)

    def _movement(self, lot: OpenLot, quantity: int, source: str, target: str) -> dict[str, Any]:
        return {
            "entry_id": self.next_id,
            "lot_id": lot.id,
            "unit": lot.unit,
            "quantity": quantity,
            "from_place": source,
            "to_place": target,
            "reason": "",
            "customer": "",
            "order_ref": "",
            "destination": "",
            "counted": None,
        }

    def _carry(
        self,
        stamp: Stamp,
        kind: str,
        lot: OpenLot,
        quantity: int,
        source: str,
        target: str,
        facts: Rows = (),
        **words: str,
    ) -> int:
        if source == target:
            raise RuleBroken(f"{lot.code} is at {target} already", hint="name another place")
        self.refuse_before(stamp, lot, kind)
        most = guards.MAX_BARS if lot.unit == "bars" else guards.MAX_MG
        guards.whole("bars" if lot.unit == "bars" else "mass in mg", quantity, high=most)
        moves = [
            Move(lot=lot, unit=lot.unit, place=source, quantity=-quantity),
            Move(lot=lot, unit=lot.unit, place=target, quantity=quantity),
        ]
        row = self._movement(lot, quantity, source, target) | words
        told = words.get("customer") or words.get("reason") or ""
        way = f"{source} to {target}" + (f" ({told})" if told else "")
        return self.enter(
            stamp,
            kind,
            lot_id=lot.id,
            facts=[(MOVEMENT, row), *facts],
            moves=moves,
            summary=f"{PAST[kind]} {quantity_words(quantity, lot.unit)} of {lot.code}, {way}",
        )


def _refuse_undo(entry_id: int, needing: Any) -> None:
    raise RuleBroken(
        f"entry {entry_id} cannot be undone: entry {needing.id} builds on it ({needing.summary})",
        hint=f"undo entry {needing.id} first",
    )
