"""Follow a lot to what it came from and who has it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

from soapstock.codes.lot import LotCode
from soapstock.desk.desk import Desk
from soapstock.desk.finding import read_lot
from soapstock.exchange.tabular import SPREAD
from soapstock.units import g_from_mg

if TYPE_CHECKING:
    from soapstock.ledger.read.follow import Followed, FollowedLot, Recall


@dataclass(frozen=True, slots=True, kw_only=True)
class CustomerRow:
    """Bars of one lot that a customer received, and how to reach them."""

    customer: str
    contact: str
    destination: str
    lot: LotCode
    bars: int
    shipped_on: date
    order: str


@dataclass(frozen=True, slots=True, kw_only=True)
class RecallDone:
    """A recall as it was run.

    Attributes:
        customers: whom to tell, one row a customer and lot, for the CSV.
        seconds: how long it took to find out.
        held: lots put on hold by it.
        entry_id: the entry that records it, None when only asked.
        may_hold: batches from before the ledger with the ingredient, of no known lot.
    """

    found: Recall
    customers: tuple[CustomerRow, ...]
    seconds: float
    may_hold: tuple[LotCode, ...] = ()
    held: tuple[LotCode, ...] = ()
    entry_id: int | None = None


def follow(desk: Desk, lot: str) -> Followed:
    """Walk from a lot to what it came from and what it became. Raises BadInput or NotFound."""
    with desk.reading() as (here, reader):
        return reader.follow(read_lot(here, lot))


@dataclass(frozen=True, slots=True, kw_only=True)
class LotRow:
    """A lot on the way, so many steps from the one asked about."""

    lot: LotCode
    kind: str
    item: str
    on: date
    depth: int
    origin: str
    origin_lot: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LinkRow:
    """What went from one lot into another: a mass, g, or bars."""

    from_: LotCode
    to: LotCode
    on: date
    mass_g: Decimal
    bars: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class SentRow:
    """Bars of a lot that went to a customer."""

    lot: LotCode
    on: date
    bars: int
    customer: str
    order: str
    destination: str


@dataclass(frozen=True, slots=True, kw_only=True)
class FollowRow:
    """What following a lot found: lots it came from, and what it became."""

    lot: LotCode
    back: tuple[LotRow, ...]
    forward: tuple[LotRow, ...]
    links: tuple[LinkRow, ...]
    shipments: tuple[SentRow, ...]


def follow_row(found: Followed) -> FollowRow:
    """What following a lot found, as a record."""
    return FollowRow(
        lot=found.lot_code,
        back=tuple(_lot(lot) for lot in found.back if lot.depth),
        forward=tuple(_lot(lot) for lot in found.forward if lot.depth),
        links=tuple(
            LinkRow(from_=x.source, to=x.made, on=x.on, mass_g=g_from_mg(x.mass_mg), bars=x.bars)
            for x in found.links
        ),
        shipments=tuple(
            SentRow(
                lot=s.lot_code,
                on=s.on,
                bars=s.bars,
                customer=s.customer,
                order=s.order_ref,
                destination=s.destination,
            )
            for s in found.shipments
        ),
    )


def _lot(lot: FollowedLot) -> LotRow:
    return LotRow(
        lot=lot.lot_code,
        kind=lot.kind,
        item=lot.item,
        on=lot.opened_on,
        depth=lot.depth,
        origin=lot.origin,
        origin_lot=lot.origin_lot,
    )


def customers_to_tell(desk: Desk, found: Recall) -> list[CustomerRow]:
    """One row a customer, lot, order and day, with how to reach them from the order."""
    with desk.ledger.read() as reader:
        contact = (
            {o.order_ref: o.contact or o.ship_to for o in reader.orders()}
            if found.shipments
            else {}
        )
    bars: Counter[tuple[str, date, LotCode, str, str]] = Counter()
    for s in found.shipments:  # an order may take a lot from several places
        bars[s.customer, s.on, s.lot_code, s.order_ref, s.destination] += s.bars
    return [
        CustomerRow(
            customer=customer or "nobody named",
            contact=contact.get(order, ""),
            destination=where,
            lot=lot,
            bars=count,
            shipped_on=day,
            order=order,
        )
        for (customer, day, lot, order, where), count in sorted(bars.items())
    ]


@dataclass(frozen=True, slots=True, kw_only=True)
class AffectedRow:
    """A batch that a recall reaches, and where its bars are."""

    lot: LotCode
    recipe: str
    poured_on: date
    depth: int
    bars_made: int
    places: Mapping[str, int]
    rebatched: int
    unaccounted: int


@dataclass(frozen=True, slots=True, kw_only=True)
class RecallRow:
    """A recall: what it reaches, whom to tell, and the share of the bars accounted for."""

    lot: LotCode
    accounted_percent: float
    affected: tuple[AffectedRow, ...]
    customers: tuple[CustomerRow, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class RecallDoneRow:
    """A recall, and the seconds it took to find out."""

    found: RecallRow = field(metadata=SPREAD)
    seconds: float


def recall_row(found: Recall, customers: tuple[CustomerRow, ...]) -> RecallRow:
    """A recall as a record."""
    return RecallRow(
        lot=found.lot_code,
        accounted_percent=round(found.accounted_percent, 2),
        affected=tuple(
            AffectedRow(
                lot=a.lot.lot_code,
                recipe=a.lot.item,
                poured_on=a.lot.opened_on,
                depth=a.lot.depth,
                bars_made=a.made,
                places=a.places,
                rebatched=a.rebatched,
                unaccounted=a.unaccounted,
            )
            for a in found.affected
        ),
        customers=customers,
    )


def done_row(done: RecallDone) -> RecallDoneRow:
    """A recall that was run, as a record."""
    return RecallDoneRow(
        found=recall_row(done.found, done.customers), seconds=round(done.seconds, 3)
    )
