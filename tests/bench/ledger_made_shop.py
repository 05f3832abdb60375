"""A made shop of any size for the ledger's benchmarks: real rows, real hashes, written in bulk.

Per batch: one pour of four lots, one unmoulding, twenty weigh-ins, one test, one release and 42
moves and shipments with their price; about a hundred postings. Most batches are sold out, as after
some years; the newest two hundred (or all of a small shop) still have bars.
"""

from __future__ import annotations

import random
from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Table, insert

from soapstock.codes.lot import make_lot_code
from soapstock.ledger.base.chain import entry_hash
from soapstock.ledger.base.tables import (
    DECISION,
    ENTRY,
    LOT,
    MOVEMENT,
    POSTING,
    POUR,
    RECEIPT,
    RECIPE,
    SALE,
    TEST,
    UNMOULD,
    USE,
    WEIGH,
    fact_tables,
)
from soapstock.ledger.facts import Stamp
from soapstock.ledger.keep.migrate import create
from soapstock.ledger.write.core import Move, OpenLot, WriterCore

FIRST = date(2000, 1, 1)
FATS = ("beef-tallow", "olive", "coconut", "castor")
RECIPE_TEXT = """code = "DRF"
name = "Driftwood"
superfat_percent = 5
water = "2 per lye"
cure_days = 28
declared_weight = "100 g"
[[fats]]
fat = "beef-tallow"
share_percent = 70
[[fats]]
fat = "olive"
share_percent = 15
[[fats]]
fat = "coconut"
share_percent = 10
[[fats]]
fat = "castor"
share_percent = 5
[lye]
naoh_assay_percent = 98
[bar]
shape = "brick"
length = "90 mm"
width = "60 mm"
height = "25 mm"
"""


class BulkWriter(WriterCore):
    """Chains and buffers entries without asking the database anything."""

    def __init__(self, connection: Connection) -> None:
        super().__init__(connection)
        self.buffer: dict[Table, list[dict[str, Any]]] = defaultdict(list)

    def enter(
        self,
        stamp: Stamp,
        kind: str,
        *,
        summary: str,
        facts: Sequence[tuple[Table, Mapping[str, Any]]] = (),
        moves: Sequence[Move] = (),
        lot_id: int | None = None,
        undoes: int | None = None,
    ) -> int:
        """Buffer an entry; flush when there are many."""
        entry_id = self.next_id
        rows = [(table, dict(row)) for table, row in facts]
        rows += [
            (
                POSTING,
                {
                    "entry_id": entry_id,
                    "line": line,
                    "lot_id": m.lot.id,
                    "unit": m.unit,
                    "place": m.place,
                    "quantity": m.quantity,
                },
            )
            for line, m in enumerate(moves, 1)
        ]
        entry = {
            "id": entry_id,
            "kind": kind,
            "happened_on": stamp.happened_on,
            "entered_at": stamp.entered_at,
            "by": stamp.by,
            "note": "",
            "summary": summary,
            "client_key": None,
            "client_sha256": None,
            "undoes": undoes,
            "lot_id": lot_id,
            "prev_hash": self.head_hash,
        }
        digest = entry_hash(self.head_hash, ENTRY, entry, rows)
        self.buffer[ENTRY].append(entry | {"hash": digest})
        for table, row in rows:
            self.buffer[table].append(row)
        self.head_id, self.head_hash = entry_id, digest
        if len(self.buffer[ENTRY]) >= 20_000:
            self.flush()
        return entry_id

    def flush(self) -> None:
        """Write what is buffered."""
        for table in (ENTRY, *fact_tables()):
            if self.buffer[table]:
                self.db.execute(insert(table), self.buffer.pop(table))


def _stamp(day: int) -> Stamp:
    when = FIRST + timedelta(days=day)
    return Stamp(happened_on=when, entered_at=datetime(2026, 1, 1, tzinfo=UTC), by="Made Maker")


def make_shop(path: Path, batches: int) -> None:
    """Write a made shop's ledger file."""
    create(f"sqlite:///{path}", fill=lambda connection: _fill(BulkWriter(connection), batches))


def code_of(batch: int) -> str:
    """The lot code of a made batch, counted from 0: one is poured each day."""
    return make_lot_code("DRF", FIRST + timedelta(days=batch))


def _fill(w: BulkWriter, batches: int) -> None:
    chance = random.Random(7)
    row = {"entry_id": 1, "code": "DRF", "version": 1, "text": RECIPE_TEXT, "sha256": "made"}
    w.enter(_stamp(0), "recipe", summary="recipe DRF version 1", facts=[(RECIPE, row)])
    lots: list[OpenLot] = []
    for number in range(batches):
        if number % 20 == 0:
            lots = [_receive(w, fat, number) for fat in FATS]
        _one_batch(w, number, lots, chance, sold_out=number < batches - 200)
    w.flush()


def _receive(w: BulkWriter, fat: str, number: int) -> OpenLot:
    lot = OpenLot(
        id=w.next_id,
        code=f"{fat[:3].upper()}{number:06d}",
        kind="ingredient",
        item=fat,
        opened_on=FIRST,
    )
    mass = 20_000_000
    receipt = {
        "entry_id": lot.id,
        "ingredient": fat,
        "mass_mg": mass,
        "supplier": "Made Farm",
        "supplier_lot": "",
        "cost_cents": 8_000 + number % 997,
        "currency": "USD",
        "certificate": "",
        "animal": "",
        "place": "store",
    }
    w.enter(
        _stamp(number),
        "receive",
        summary=f"received {fat}",
        lot_id=lot.id,
        facts=[
            (LOT, {"id": lot.id, "code": lot.code, "kind": lot.kind, "item": fat}),
            (RECEIPT, receipt),
        ],
        moves=_carry(lot, "mg", "supplier", "store", mass),
    )
    return lot


def _carry(lot: OpenLot, unit: str, source: str, target: str, quantity: int) -> list[Move]:
    return [
        Move(lot=lot, unit=unit, place=source, quantity=-quantity),
        Move(lot=lot, unit=unit, place=target, quantity=quantity),
    ]


def _one_batch(
    w: BulkWriter, number: int, lots: list[OpenLot], chance: random.Random, *, sold_out: bool
) -> None:
    lot = OpenLot(id=w.next_id, code=code_of(number), kind="batch", item="DRF", opened_on=FIRST)
    bars, batter = 48, 6_000_000
    uses, moves = [], []
    for line, (fat, share) in enumerate(zip(lots, (70, 15, 10, 5), strict=True), 1):
        mass = 10_000 * share
        uses.append(
            (
                USE,
                {
                    "entry_id": lot.id,
                    "line": line,
                    "lot_id": fat.id,
                    "role": "fat",
                    "ingredient": fat.item,
                    "mass_mg": mass,
                },
            )
        )
        moves += _carry(fat, "mg", "store", "pot", mass)
    for line, (name, role, mass) in enumerate(
        (("naoh", "naoh", 135_000), ("water", "liquid", 270_000)), 5
    ):
        uses.append(
            (
                USE,
                {
                    "entry_id": lot.id,
                    "line": line,
                    "lot_id": None,
                    "role": role,
                    "ingredient": name,
                    "mass_mg": mass,
                },
            )
        )
    pour = {
        "entry_id": lot.id,
        "recipe_entry_id": 1,
        "planned_json": "",
        "judgement_json": "",
        "batter_mg": batter,
        "mould": "",
        "seized": False,
    }
    named = {"id": lot.id, "code": lot.code, "kind": "batch", "item": "DRF"}
    moves += _carry(lot, "mg", "pot", "mould", batter)
    w.enter(
        _stamp(number),
        "pour",
        summary=f"poured {lot.code}",
        lot_id=lot.id,
        moves=moves,
        facts=[(LOT, named), (POUR, pour), *uses],
    )
    out = {
        "entry_id": w.next_id,
        "lot_id": lot.id,
        "bars": bars,
        "rejects": 0,
        "counted_bars": bars,
        "counted_mass_mg": 115_000 * bars,
        "place": "rack",
    }
    moves = [*_carry(lot, "mg", "mould", "pot", batter), *_carry(lot, "bars", "pot", "rack", bars)]
    w.enter(
        _stamp(number + 1),
        "unmould",
        summary=f"unmoulded {lot.code}",
        lot_id=lot.id,
        facts=[(UNMOULD, out)],
        moves=moves,
    )
    _weigh_and_release(w, number, lot, chance)
    _sell(w, number, lot, sold_out=sold_out)


def _weigh_and_release(w: BulkWriter, number: int, lot: OpenLot, chance: random.Random) -> None:
    for week in range(20):
        mass = int(48 * (115_000 - 12_000 * (1 - 0.8**week)) + chance.gauss(0, 500))
        row = {
            "entry_id": w.next_id,
            "lot_id": lot.id,
            "bars": 48,
            "mass_mg": mass,
            "place": "rack",
        }
        w.enter(
            _stamp(number + 2 + 3 * week),
            "weigh",
            summary=f"weighed {lot.code}",
            lot_id=lot.id,
            facts=[(WEIGH, row)],
        )
    row = {"entry_id": w.next_id, "lot_id": lot.id, "method": "tongue", "passed": True, "value": ""}
    w.enter(
        _stamp(number + 60),
        "test",
        summary=f"tested {lot.code}",
        lot_id=lot.id,
        facts=[(TEST, row)],
    )
    row = {"entry_id": w.next_id, "lot_id": lot.id, "decision": "release", "reason": "made"}
    w.enter(
        _stamp(number + 60),
        "release",
        summary=f"release of {lot.code}",
        lot_id=lot.id,
        facts=[(DECISION, row)],
    )


def _sell(w: BulkWriter, number: int, lot: OpenLot, *, sold_out: bool) -> None:
    sales = [("move", "rack", "shelf", 2)] * 20 + [("ship", "shelf", "customer", 2)] * 20
    sales += (
        [("ship", "rack", "customer", 4)] * 2 if sold_out else [("move", "rack", "shelf", 2)] * 2
    )
    for step, (kind, source, target, bars) in enumerate(sales):
        sent = kind == "ship"
        row = {
            "entry_id": w.next_id,
            "lot_id": lot.id,
            "unit": "bars",
            "quantity": bars,
            "from_place": source,
            "to_place": target,
            "reason": "",
            "customer": f"Made Shop {(number + step) % 50}" if sent else "",
            "order_ref": f"O-{number}-{step}" if sent else "",
            "destination": ("ME", "VT", "NH")[(number + step) % 3] if sent else "",
        }
        sale = {
            "entry_id": w.next_id,
            "sold": w.next_id,
            "buyer": "direct",
            "price_cents": 750,
            "discount_cents": 0,
            "postage_cents": 0,
            "tax_cents": 41,
            "currency": "USD",
        }
        w.enter(
            _stamp(number + 61 + step),
            kind,
            summary=f"{kind} {bars} of {lot.code}",
            lot_id=lot.id,
            facts=[(MOVEMENT, row), *([(SALE, sale)] if sent else [])],
            moves=_carry(lot, "bars", source, target, bars),
        )
