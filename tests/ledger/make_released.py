"""Write a small ledger of today's schema as SQL, to be kept when a schema is released.

    python tests/ledger/make_released.py      writes tests/ledger/released/<schema>.sql

Run it once, just before a new migration is added; a released file is never written again. Every
table has rows, all invented.
"""

from __future__ import annotations

import sqlite3
import sys
import tempfile
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from soapstock.ledger.base.schema import newest
from soapstock.ledger.facts import (
    OldPageFacts,
    OrderFacts,
    OrderLineFacts,
    PourFacts,
    Price,
    ReceiveFacts,
    Sale,
    Spent,
    Stamp,
    Use,
    Want,
)
from soapstock.ledger.keep.migrate import create
from soapstock.ledger.store import open_ledger
from soapstock.ledger.write.writer import Writer

RELEASED = Path(__file__).parent / "released"


def _stamp(day: int, **more: str) -> Stamp:
    return Stamp(
        happened_on=date(2026, 9, 1) + timedelta(days=day),
        by="Invented Maker",
        entered_at=datetime(2026, 9, 1, 8, tzinfo=UTC) + timedelta(days=day),
        **more,
    )


def _fill(w: Writer) -> None:
    w.add_recipe(_stamp(0), code="DRF", text="code = 'DRF'\nname = 'Driftwood é'\n")
    raw = ReceiveFacts(lot_code="RAW1", ingredient="suet", mass_mg=8_000_000, supplier="Own")
    w.receive(_stamp(0), raw)
    suet = Use(lot_code="RAW1", ingredient="suet", role="fat", mass_mg=8_000_000)
    fat = ReceiveFacts(
        lot_code="TAL1",
        ingredient="beef-tallow",
        mass_mg=5_000_000,
        animal="ewe 12",
        raw_fat_mg=8_000_000,
        made_from=(suet,),
        best_before=date(2027, 9, 1),
        sv_low=194.0,
        sv_nominal=196.5,
        sv_high=199.0,
        cost_cents=1250,
        currency="EUR",
        acid_value=1.5,
    )
    w.receive(_stamp(0), fat)
    w.undo(
        _stamp(0),
        w.receive(
            _stamp(0),
            ReceiveFacts(lot_code="LYE1", ingredient="naoh", mass_mg=1_000_000, supplier="Typo"),
        ),
        "wrong mass",
    )
    used = Use(lot_code="TAL1", ingredient="beef-tallow", role="fat", mass_mg=1_000_000)
    water = Use(ingredient="water", role="liquid", mass_mg=300_000)
    w.pour(
        _stamp(1),
        PourFacts(
            lot_code="DRF1",
            recipe_code="DRF",
            recipe_version=1,
            uses=(used,),
            unlotted=(water,),
            batter_mg=1_300_000,
            lye_c=38.5,
            room_rh=61.25,
            planned_json="{}",
            judgement_json="{}",
        ),
    )
    w.unmould(_stamp(2), "DRF1", 12, 1, 12, 1_180_000)
    w.weigh(
        _stamp(9, client_key="scale-1", client_said="a" * 64), "DRF1", 12, 1_100_000, room_c=17.5
    )
    w.test(_stamp(29), "DRF1", "tongue", True, "no zap")
    w.photo(_stamp(29), "DRF1", b"\xff\xd8invented\xff\xd9", width=4, height=3)
    w.declare(_stamp(29), "DRF1", 110_000, "dried more than planned")
    w.decide(_stamp(30), "DRF1", "release", "dry, no zap")
    w.add_place(_stamp(30), "rack-2", "rack", 40)
    w.move(_stamp(30), "DRF1", 4, "bars", "rack", "rack-2")
    line = OrderLineFacts(recipe_code="DRF", bars=3, price_cents=450, currency="EUR")
    for ref in ("O-1", "O-2"):
        w.add_order(_stamp(31), OrderFacts(order_ref=ref, customer="Invented Shop", lines=(line,)))
    w.reserve(_stamp(31), "O-1", [("DRF1", 3)])
    w.spend(_stamp(31), Spent(what="work", minutes=95), "DRF1")
    w.set_price(
        _stamp(31),
        Price(recipe_code="DRF", buyer="wholesale", price_cents=450, currency="EUR"),
    )
    sale = Sale(buyer="wholesale", price_cents=450, discount_cents=50, currency="EUR")
    sent = w.ship(_stamp(32), "DRF1", 3, "rack", "Invented Shop", "O-1", "Quay 3", sale)
    w.invoice(_stamp(32), [sent], {"DRF": "Driftwood"}, paid="cash", due_on=date(2026, 11, 1))
    w.credit(_stamp(32), "2026", 1, "wrong price")
    w.give(_stamp(32), "DRF1", 1, "rack", "gift", "Invented Neighbour")
    w.close_order(_stamp(32), "O-1", "shipped")
    w.count(_stamp(33, note="one eaten by mice"), "DRF1", "rack", 3)
    w.print_labels(_stamp(33), "DRF1", 24, 1, 12, "band")
    w.set_reorder_level(_stamp(33), "beef-tallow", 1_000_000)
    w.want(_stamp(33), Want(customer="Invented Waiter", recipe_code="DRF", bars=4))
    page = OldPageFacts(source="notes.csv", stands_at="line 2", said="x", said_sha256="0" * 64)
    w.take_pages(_stamp(33), [page])
    w.retire(_stamp(34), "DRF", "invented reason")
    w.record_recall(_stamp(34), "TAL1", True, "{}", 0.25, 92.3)


def main() -> int:
    """Write the file of today's schema, unless it was released already."""
    target = RELEASED / f"{newest()}.sql"
    if target.exists():
        sys.stderr.write(f"{target} is released and stays as it is\n")
        return 1
    RELEASED.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as work:
        path = Path(work) / "ledger.db"
        create(f"sqlite:///{path}")
        with open_ledger(f"sqlite:///{path}") as ledger, ledger.write() as w:
            _fill(w)
        connection = sqlite3.connect(path)
        target.write_text("\n".join(connection.iterdump()) + "\n", encoding="utf-8")
        connection.close()
    return 0


if __name__ == "__main__":
    sys.exit(main())
