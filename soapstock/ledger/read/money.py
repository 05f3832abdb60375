"""Reading what bears on cost, prices, sales and invoices: a fixed number of queries."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any, NamedTuple

from soapstock.codes.lot import LotCode
from soapstock.errors import NotFound
from soapstock.ledger.base.sql import many_records, part, query
from soapstock.ledger.facts import Invoice, InvoiceHead, InvoiceLineFacts, Price, Sale, columns_of
from soapstock.ledger.read.snapshot import Snapshot
from soapstock.money.book import LotRow, PostedRow, ReceiptRow, Rows, SpentRow

UNTIL = "e.happened_on <= :day AND e.undoes IS NULL AND LIVE(e.id)"
LOTS = (
    "l.id l.code l.kind l.item e.happened_on",
    f"FROM lot l JOIN entry e ON e.id = l.id WHERE {UNTIL} ORDER BY l.id",
)
RECEIPTS = (
    "r.entry_id r.mass_mg r.cost_cents r.currency r.supplier r.animal r.raw_fat_mg",
    f"FROM receipt r JOIN entry e ON e.id = r.entry_id WHERE {UNTIL} ORDER BY r.entry_id",
)
POSTED = (
    "p.entry_id p.lot_id p.place p.unit p.quantity e.happened_on",
    f"""FROM posting p JOIN entry e ON e.id = p.entry_id
    WHERE p.place IN ('pot', 'customer', 'given', 'waste', 'count-difference', 'retained')
        AND {UNTIL} ORDER BY p.entry_id, p.line""",
)
SPENT = (
    "s.entry_id s.lot_id s.what s.minutes s.amount_cents s.currency e.happened_on e.note",
    f"FROM spent s JOIN entry e ON e.id = s.entry_id WHERE {UNTIL} ORDER BY s.entry_id",
)
RENDERED = (
    "u.entry_id",
    f"""FROM use_line u JOIN receipt r ON r.entry_id = u.entry_id
    JOIN entry e ON e.id = u.entry_id WHERE {UNTIL}""",
)
TRADED = (
    "m.entry_id m.lot_id l.code l.item m.quantity m.to_place m.customer m.order_ref "
    "m.destination m.reason e.happened_on",
    f"""FROM movement m JOIN lot l ON l.id = m.lot_id JOIN entry e ON e.id = m.entry_id
    WHERE (m.to_place IN ('customer', 'given') OR m.from_place = 'customer') AND {UNTIL}
    ORDER BY m.entry_id""",
)
SALE = tuple(columns_of(Sale))
SALES = (
    "s.sold " + " ".join(f"s.{name}" for name in SALE),
    "FROM sale s WHERE LIVE(s.entry_id) ORDER BY s.entry_id",
)
PRICES = (
    "p.recipe_code p.buyer p.price_cents p.currency e.happened_on",
    f"""FROM price p JOIN entry e ON e.id = p.entry_id WHERE {UNTIL}
    ORDER BY e.happened_on, p.entry_id""",
)
WASTED = (
    "m.entry_id m.lot_id m.quantity k.kind m.reason e.happened_on",
    f"""FROM movement m JOIN lot l ON l.id = m.lot_id JOIN entry e ON e.id = m.entry_id
    JOIN place k ON k.name = m.from_place
    WHERE m.to_place = 'waste' AND l.kind = 'batch' AND {UNTIL} ORDER BY m.entry_id""",
)
RELEASED = (
    "d.lot_id e.happened_on",
    f"""FROM decision d JOIN entry e ON e.id = d.entry_id
    WHERE d.decision = 'release' AND {UNTIL} ORDER BY d.entry_id""",
)
INVOICES = """
    SELECT i.*, e.happened_on FROM invoice i JOIN entry e ON e.id = i.entry_id
    ORDER BY i.entry_id"""
INVOICE_LINES = "SELECT x.* FROM invoice_line x ORDER BY x.entry_id, x.line"


@dataclass(frozen=True, slots=True)
class Traded:
    """Bars that went to a customer, came back from one (`bars` below zero), or were given.

    Attributes:
        given_for: what they were given for; empty for a customer's.
        sale: what they were sold for; None where nobody said, or they were given.
    """

    entry: int
    lot: int
    lot_code: LotCode
    recipe_code: str
    bars: int
    customer: str
    order_ref: str
    destination: str
    given_for: str
    on: date
    sale: Sale | None

    @property
    def sign(self) -> int:
        """1 for what went, -1 for what came back."""
        return 1 if self.bars >= 0 else -1

    @property
    def goods_cents(self) -> int:
        """What they brought in less the discount, in cents; 0 where nobody said."""
        return 0 if self.sale is None else self.sign * self.sale.goods_cents(abs(self.bars))


class Wasted(NamedTuple):
    """Bars thrown away: from what kind of place, and why."""

    entry: int
    lot: int
    bars: int
    from_kind: str
    reason: str
    on: date


@dataclass(frozen=True, slots=True, kw_only=True)
class PriceOn(Price):
    """A price with the day it began."""

    on: date


class MoneyReader(Snapshot):
    """Reads of money."""

    def cost_rows(self, day: date) -> Rows:
        """Everything that bears on cost up to a day."""
        asked = {"day": day}
        with many_records():
            return Rows(
                lots=[LotRow(*row) for row in self.db.execute(part(*LOTS), asked)],
                receipts=[ReceiptRow(*row) for row in self.db.execute(part(*RECEIPTS), asked)],
                posted=[PostedRow(*row) for row in self.db.execute(part(*POSTED), asked)],
                spent=[SpentRow(*row) for row in self.db.execute(part(*SPENT), asked)],
                rendered=frozenset(self.db.execute(part(*RENDERED), asked).scalars()),
            )

    def traded(self, day: date) -> list[Traded]:
        """Bars sold, taken back and given up to a day, as entered; a price said later counts."""
        asked = {"day": day}
        with many_records():
            sales = {
                row[0]: Sale(**dict(zip(SALE, row[1:], strict=True)))
                for row in self.db.execute(part(*SALES))
            }
            return [_traded(row, sales) for row in self.db.execute(part(*TRADED), asked)]

    def wasted(self, day: date) -> list[Wasted]:
        """Bars thrown away up to a day, rejects at the mould left out, as entered."""
        return [Wasted(*row) for row in self.db.execute(part(*WASTED), {"day": day})]

    def released(self, day: date) -> dict[int, date]:
        """The day each lot was first released, up to a day."""
        first: dict[int, date] = {}
        for lot, on in self.db.execute(part(*RELEASED), {"day": day}):
            first.setdefault(lot, on)
        return first

    def prices(self, day: date) -> list[PriceOn]:
        """Every price that was ever said up to a day, the oldest first."""
        return [
            PriceOn(
                recipe_code=row.recipe_code,
                buyer=row.buyer,
                price_cents=row.price_cents,
                currency=row.currency,
                on=row.happened_on,
            )
            for row in self.db.execute(part(*PRICES), {"day": day})
        ]

    def price_list(self, day: date) -> dict[tuple[str, str], PriceOn]:
        """What a bar sells for on a day, by recipe and kind of buyer."""
        found = {(one.recipe_code, one.buyer): one for one in self.prices(day)}
        return {key: one for key, one in sorted(found.items()) if one.price_cents is not None}

    def invoices(self) -> list[Invoice]:
        """Invoices and credit notes in the order they were given."""
        lines: Mapping[int, list[Any]] = defaultdict(list)
        for row in self.db.execute(query(INVOICE_LINES)):
            lines[row.entry_id].append(row)
        return [_invoice(row, lines[row.entry_id]) for row in self.db.execute(query(INVOICES))]

    def invoice(self, number: str) -> Invoice:
        """The invoice or credit note of a number such as `2026-0001`. Raises NotFound."""
        every = self.invoices()
        for one in every:
            if one.shown == number.strip():
                return one
        last = every[-1].shown if every else "none yet"
        raise NotFound(f"no invoice {number!s:.40}", hint=f"the last one given: {last}")


def _traded(row: Any, sales: Mapping[int, Sale]) -> Traded:
    entry, lot, code, item, bars, to_place, customer, order_ref, destination, reason, on = row
    back = to_place not in {"customer", "given"}
    return Traded(
        entry,
        lot,
        LotCode(code),
        item,
        -bars if back else bars,
        customer,
        order_ref,
        destination,
        reason if to_place == "given" else "",
        on,
        sales.get(entry),
    )


def _invoice(row: Any, lines: list[Any]) -> Invoice:
    head = {name: getattr(row, name) for name in columns_of(InvoiceHead)}
    return Invoice(
        **head,
        lines=tuple(
            InvoiceLineFacts(**{name: getattr(x, name) for name in columns_of(InvoiceLineFacts)})
            for x in lines
        ),
        on=row.happened_on,
        entry_id=row.entry_id,
    )
