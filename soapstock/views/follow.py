"""Follow a lot to what it came from and who has it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from soapstock.codes.lot import LotCode
from soapstock.desk.desk import Desk
from soapstock.desk.finding import read_lot
from soapstock.units import g_from_mg

if TYPE_CHECKING:
    from soapstock.ledger.read.follow import Followed, Recall


@dataclass(frozen=True, slots=True, kw_only=True)
class RecallDone:
    """A recall as it was run.

    Attributes:
        customers: whom to tell, one row a customer and lot, for the CSV.
        seconds: how long it took to find out.
        held: lots put on hold by it.
        entry_id: the entry that records it, None when only asked.
    """

    found: Recall
    customers: tuple[dict[str, Any], ...]
    seconds: float
    held: tuple[LotCode, ...] = ()
    entry_id: int | None = None


def follow(desk: Desk, lot: str) -> Followed:
    """Walk from a lot to what it came from and what it became. Raises BadInput or NotFound."""
    with desk.reading() as (here, reader):
        return reader.follow(read_lot(here, lot))


def follow_record(found: Followed) -> dict[str, Any]:
    """What following a lot found, as a JSON record."""

    def row(lot: Any) -> dict[str, Any]:
        return {
            "lot": lot.lot_code.shown,
            "kind": lot.kind,
            "item": lot.item,
            "on": lot.opened_on,
            "depth": lot.depth,
            "origin": lot.origin,
            "origin_lot": lot.origin_lot,
        }

    return {
        "lot": found.lot_code.shown,
        "back": [row(lot) for lot in found.back if lot.depth],
        "forward": [row(lot) for lot in found.forward if lot.depth],
        "links": [
            {
                "from": x.source.shown,
                "to": x.made.shown,
                "on": x.on,
                "mass_g": g_from_mg(x.mass_mg),
                "bars": x.bars,
            }
            for x in found.links
        ],
        "shipments": [
            {
                "lot": s.lot_code.shown,
                "on": s.on,
                "bars": s.bars,
                "customer": s.customer,
                "order": s.order_ref,
                "destination": s.destination,
            }
            for s in found.shipments
        ],
    }


def customers_to_tell(desk: Desk, found: Recall) -> list[dict[str, Any]]:
    """One row a customer, lot and order, with how to reach them from the order."""
    with desk.ledger.read() as reader:
        contact = {o.order_ref: o.contact for o in reader.orders()} if found.shipments else {}
    return [
        {
            "customer": s.customer,
            "contact": contact.get(s.order_ref, ""),
            "destination": s.destination,
            "lot": s.lot_code.shown,
            "bars": s.bars,
            "shipped_on": s.on,
            "order": s.order_ref,
        }
        for s in sorted(found.shipments, key=lambda s: (s.customer, s.on, s.lot_code))
    ]


def recall_record(found: Recall, customers: tuple[dict[str, Any], ...]) -> dict[str, Any]:
    """A recall as a JSON record."""
    return {
        "lot": found.lot_code.shown,
        "accounted_percent": round(found.accounted_percent, 2),
        "affected": [
            {
                "lot": a.lot.lot_code.shown,
                "recipe": a.lot.item,
                "poured_on": a.lot.opened_on,
                "depth": a.lot.depth,
                "bars_made": a.made,
                "places": dict(a.places),
                "rebatched": a.rebatched,
                "unaccounted": a.unaccounted,
            }
            for a in found.affected
        ],
        "customers": list(customers),
    }
