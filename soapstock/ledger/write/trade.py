"""Writing orders, reservations, label runs, reorder levels and recalls."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, get_args

from sqlalchemy import func, select

from soapstock.errors import BadInput, Mend, NotFound, RuleBroken
from soapstock.ledger.base.tables import (
    ENTRY,
    LABEL_RUN,
    MOVEMENT,
    OLD_PAGE,
    ORDER,
    ORDER_CLOSE,
    ORDER_LINE,
    RECALL,
    REORDER,
    RESERVATION,
    WANT,
    not_undone,
)
from soapstock.ledger.facts import OldPageFacts, OrderFacts, Outcome, Stamp, Want
from soapstock.ledger.write import guards
from soapstock.ledger.write.core import OpenLot, fact
from soapstock.ledger.write.stock import StockWriter
from soapstock.units import quantity_words


class TradeWriter(StockWriter):
    """The facts of trade."""

    @fact
    def add_order(self, stamp: Stamp, facts: OrderFacts) -> int:
        """Take an order. Raises RuleBroken when its reference is in use."""
        ref = guards.text("order reference", facts.order_ref, limit=80, required=True)
        if self.find_order(ref) is not None:
            raise RuleBroken(f"order {ref} is there already", hint="give it its own reference")
        customer = guards.text("customer", facts.customer, required=True)
        guards.whole("lines of the order", len(facts.lines), high=1000)
        entry_id = self.next_id
        rows: list[tuple[Any, dict[str, Any]]] = [
            (
                ORDER,
                {
                    "entry_id": entry_id,
                    "order_ref": ref,
                    "customer": customer,
                    "contact": guards.text("contact", facts.contact),
                    "destination": guards.text("destination", facts.destination, limit=guards.LONG),
                    "ship_to": guards.text("ship-to address", facts.ship_to, limit=guards.LONG),
                    "wanted_on": None
                    if facts.wanted_on is None
                    else guards.day("the day wanted", facts.wanted_on),
                },
            )
        ]
        for number, line in enumerate(facts.lines, 1):
            rows.append(
                (
                    ORDER_LINE,
                    {
                        "entry_id": entry_id,
                        "line": number,
                        "recipe_code": guards.text(
                            "recipe", line.recipe_code, limit=20, required=True
                        ),
                        "bars": guards.whole("bars ordered", line.bars, high=guards.MAX_BARS),
                        "price_cents": None
                        if line.price_cents is None
                        else guards.whole(
                            "price in cents", line.price_cents, low=0, high=guards.MAX_CENTS
                        ),
                        "currency": guards.text("currency", line.currency, limit=10),
                    },
                )
            )
        bars = sum(line.bars for line in facts.lines)
        return self.enter(
            stamp,
            "order",
            facts=rows,
            summary=f"order {ref} from {customer}: {quantity_words(bars, 'bars')}",
        )

    @fact
    def reserve(self, stamp: Stamp, order_ref: str, takes: Sequence[tuple[str, int]]) -> int:
        """Keep bars of lots for an order; a negative number gives some free again.

        Raises:
            RuleBroken: the order is closed, or a lot has too few bars that nobody has reserved.
        """
        order = self._open_order(order_ref)
        guards.whole("lots to reserve", len(takes), high=1000)
        rows = []
        for line, (code, bars) in enumerate(takes, 1):
            lot = self.lot(code, "batch")
            guards.whole("bars", abs(bars), high=guards.MAX_BARS)
            self._check_free(lot, order.entry_id, bars)
            rows.append(
                (
                    RESERVATION,
                    {
                        "entry_id": self.next_id,
                        "line": line,
                        "order_id": order.entry_id,
                        "lot_id": lot.id,
                        "bars": bars,
                    },
                )
            )
        total = sum(bars for _, bars in takes)
        word = (
            f"reserved {quantity_words(total, 'bars')}"
            if total >= 0
            else (f"freed {quantity_words(-total, 'bars')}")
        )
        return self.enter(stamp, "reserve", facts=rows, summary=f"{word} for order {order_ref}")

    @fact
    def close_order(self, stamp: Stamp, order_ref: str, outcome: str, reason: str = "") -> int:
        """Say that an order is done; short or cancelled needs the maker's reason."""
        order = self._open_order(order_ref)
        guards.one_of("outcome", outcome, get_args(Outcome))
        why = guards.text("the reason", reason, limit=guards.LONG, required=outcome != "shipped")
        row = {
            "entry_id": self.next_id,
            "order_id": order.entry_id,
            "outcome": outcome,
            "reason": why,
        }
        told = f" ({why})" if why else ""
        return self.enter(
            stamp,
            "close",
            facts=[(ORDER_CLOSE, row)],
            summary=f"order {order_ref} closed: {outcome}{told}",
        )

    @fact
    def print_labels(
        self, stamp: Stamp, lot: str, printed: int, spoiled: int = 0, used: int = 0, face: str = ""
    ) -> int:
        """Count labels printed for a lot, spoiled, and stuck on bars."""
        batch = self.lot(lot, "batch")
        self.refuse_before(stamp, batch, "labels")
        for what, number in (("printed", printed), ("spoiled", spoiled), ("used", used)):
            guards.whole(f"labels {what}", number, low=0, high=guards.MAX_BARS)
        guards.whole("labels", printed + spoiled + used)
        row = {
            "entry_id": self.next_id,
            "lot_id": batch.id,
            "printed": printed,
            "spoiled": spoiled,
            "used": used,
            "face": guards.text("face", face),
        }
        return self.enter(
            stamp,
            "labels",
            lot_id=batch.id,
            facts=[(LABEL_RUN, row)],
            summary=f"labels of {batch.code}: {printed} printed, {spoiled} spoiled, {used} used",
        )

    @fact
    def set_reorder_level(self, stamp: Stamp, item: str, level: int, unit: str = "mg") -> int:
        """Say how little of an ingredient (mg) or recipe (bars) calls for more; 0 ends it."""
        item = guards.text("item", item, limit=80, required=True)
        guards.one_of("unit", unit, ("mg", "bars"))
        guards.whole("level", level, low=0)
        row = {"entry_id": self.next_id, "item": item, "unit": unit, "level": level}
        return self.enter(
            stamp,
            "level",
            facts=[(REORDER, row)],
            summary=f"warn when {item} falls under {quantity_words(level, unit)}",
        )

    @fact
    def want(self, stamp: Stamp, want: Want) -> int:
        """Put someone on the waiting list for bars of a recipe, or, with 0 bars, take them off."""
        who = guards.text("customer", want.customer, limit=120, required=True)
        guards.whole("bars", want.bars, low=0)
        row = {
            "entry_id": self.next_id,
            "customer": who,
            "recipe_code": guards.text("recipe", want.recipe_code, required=True),
            "bars": want.bars,
            "contact": guards.text("contact", want.contact),
        }
        said = f"waits for {want.bars} bars" if want.bars else "no longer waits"
        return self.enter(
            stamp, "want", facts=[(WANT, row)], summary=f"{who} {said} of {want.recipe_code}"
        )

    @fact
    def take_pages(self, stamp: Stamp, pages: Sequence[OldPageFacts]) -> int:
        """Take in pages of old notes, all in one entry, which an undo takes back out.

        Raises:
            BadInput: none is given.
            RuleBroken: a page was taken in before.
        """
        if not pages:
            raise BadInput("there is no page to take in")
        known = self.db.execute(
            select(OLD_PAGE.c.stands_at)
            .where(OLD_PAGE.c.said_sha256.in_([p.said_sha256 for p in pages]))
            .where(not_undone(OLD_PAGE.c.entry_id))
        ).first()
        if known is not None:
            raise RuleBroken(f"{known.stands_at} was taken in before")
        rows: list[tuple[Any, dict[str, Any]]] = [
            (
                OLD_PAGE,
                {
                    "entry_id": self.next_id,
                    "line": line,
                    "source": guards.text("source", page.source, required=True),
                    "stands_at": guards.text("where it stands", page.stands_at, required=True),
                    "said": guards.text("what stands there", page.said, limit=200_000),
                    "said_sha256": page.said_sha256,
                    "poured_on": page.poured_on,
                    "variety": guards.text("variety", page.variety),
                    "bars": page.bars,
                    "understood_json": guards.text(
                        "what was understood", page.understood_json, limit=200_000
                    ),
                },
            )
            for line, page in enumerate(pages, 1)
        ]
        return self.enter(
            stamp,
            "take in",
            facts=rows,
            summary=f"took in {len(pages)} pages of {pages[0].source}",
        )

    @fact
    def record_recall(
        self,
        stamp: Stamp,
        lot: str,
        practice: bool,
        report_json: str,
        seconds: float,
        accounted_percent: float,
        hazard: str = "",
        remedy: str = "",
    ) -> int:
        """Record that a recall, or a practice of one, was run, and what it found.

        Args:
            hazard: what is wrong, and remedy: what buyers get, both as customers will read them.
        """
        found = self.lot(lot)
        row = {
            "entry_id": self.next_id,
            "lot_id": found.id,
            "practice": bool(practice),
            "report_json": guards.text("report", report_json, limit=5_000_000),
            "seconds": guards.figure("seconds", seconds, low=0, high=1e9),
            "accounted_percent": guards.figure("share", accounted_percent, low=0, high=100),
            "hazard": guards.text("hazard", hazard),
            "remedy": guards.text("remedy", remedy),
        }
        word = "practice recall" if practice else "recall"
        return self.enter(
            stamp,
            "recall",
            lot_id=found.id,
            facts=[(RECALL, row)],
            summary=f"{word} of {found.code}: {accounted_percent:.1f} % accounted for",
        )

    def find_order(self, order_ref: str) -> Any:
        """The live order of a reference, or None."""
        return self.db.execute(
            select(ORDER).where(ORDER.c.order_ref == order_ref, not_undone(ORDER.c.entry_id))
        ).first()

    def _open_order(self, order_ref: str) -> Any:
        order = self.find_order(order_ref)
        if order is None:
            raise NotFound(f"no order {order_ref!s:.80}", mend=Mend("list_orders"))
        closed = self.db.execute(
            select(ORDER_CLOSE.c.outcome, ORDER_CLOSE.c.entry_id).where(
                ORDER_CLOSE.c.order_id == order.entry_id, not_undone(ORDER_CLOSE.c.entry_id)
            )
        ).first()
        if closed is not None:
            raise RuleBroken(
                f"order {order_ref} is closed: {closed.outcome} (entry {closed.entry_id})",
                mend=Mend("undo", entry=closed.entry_id),
            )
        return order

    def reserved(self, lot_id: int) -> dict[int, int]:
        """Bars of a lot still kept for each open order: reserved less shipped to it."""
        closed = select(ORDER_CLOSE.c.order_id).where(not_undone(ORDER_CLOSE.c.entry_id))
        rows = self.db.execute(
            select(RESERVATION.c.order_id, ORDER.c.order_ref, func.sum(RESERVATION.c.bars))
            .join(ORDER, ORDER.c.entry_id == RESERVATION.c.order_id)
            .where(
                RESERVATION.c.lot_id == lot_id,
                not_undone(RESERVATION.c.entry_id),
                not_undone(ORDER.c.entry_id),
                RESERVATION.c.order_id.not_in(closed),
            )
            .group_by(RESERVATION.c.order_id, ORDER.c.order_ref)
        )
        kept: dict[int, int] = {}
        for order_id, order_ref, bars in rows:
            sent = self.db.execute(
                select(func.coalesce(func.sum(MOVEMENT.c.quantity), 0)).where(
                    MOVEMENT.c.lot_id == lot_id,
                    MOVEMENT.c.order_ref == order_ref,
                    MOVEMENT.c.to_place == "customer",
                    not_undone(MOVEMENT.c.entry_id),
                )
            ).scalar_one()
            kept[int(order_id)] = max(0, int(bars) - int(sent))
        return kept

    def sellable(self, lot_id: int) -> int:
        """Bars of a lot at places one may ship from."""
        held = self.held(lot_id, "bars")
        return sum(n for place, n in held.items() if self.use_of(place).for_sale)

    def _check_free(self, lot: OpenLot, order_id: int, bars: int) -> None:
        kept = self.reserved(lot.id)
        if bars < 0:
            if kept.get(order_id, 0) + bars < 0:
                raise RuleBroken(f"only {kept.get(order_id, 0)} bars of {lot.code} are reserved")
            return
        stopped = self.stopped(lot)
        if stopped:
            raise RuleBroken(f"{lot.code} {stopped}; it cannot be reserved")
        free = self.sellable(lot.id) - sum(kept.values())
        if bars > free:
            raise RuleBroken(
                f"{lot.code} has {max(free, 0)} bars that nobody has reserved; cannot keep {bars}",
                hint="reserve fewer, or from another lot",
            )

    def refuse_reserved(self, lot: OpenLot, bars: int, order_ref: str = "") -> None:
        """Refuse to take bars from sale that are kept for another order."""
        order = self.find_order(order_ref) if order_ref else None
        mine = order.entry_id if order is not None else None
        others = sum(n for who, n in self.reserved(lot.id).items() if who != mine)
        free = self.sellable(lot.id) - others
        if others and bars > free:
            raise RuleBroken(
                f"{others} bars of {lot.code} are kept for other orders; "
                f"{max(free, 0)} are free, not {bars}",
                hint="take another lot, or free the reservation",
            )

    def needed_by(self, entry: Any, later: Any) -> Any:
        """What builds on an order: its reservations, its closing and its shipments."""
        if entry.kind != "order":
            return super().needed_by(entry, later)
        order_ref = self.db.execute(
            select(ORDER.c.order_ref).where(ORDER.c.entry_id == entry.id)
        ).scalar_one()
        kept = select(RESERVATION.c.entry_id).where(RESERVATION.c.order_id == entry.id)
        closed = select(ORDER_CLOSE.c.entry_id).where(ORDER_CLOSE.c.order_id == entry.id)
        sent = select(MOVEMENT.c.entry_id).where(MOVEMENT.c.order_ref == order_ref)
        return later.where(ENTRY.c.id.in_(kept) | ENTRY.c.id.in_(closed) | ENTRY.c.id.in_(sent))
