"""The ledger's tables, defined once, as SQLModel classes; all of them append-only.

Every fact belongs to an `entry`; every movement of stock is a set of `posting` rows that sum to
zero per lot and unit. A lot is named inside by the id of the entry that opened it, so a lot code
freed by an undo can be used again. Writes go through the Table objects at the end, which are
cheaper than mapped instances; reads are plain SQL (sql.py), so that listing the rack pays for no
model. Tables of orders, labels and recalls are in models_trade.py.
"""

from __future__ import annotations

from datetime import date, datetime
from typing import cast

from sqlalchemy import BigInteger, Index, Table, Text
from sqlmodel import Field, SQLModel

from soapstock.ledger.sql import UtcDateTime


class Entry(SQLModel, table=True):
    """One fact entered, chained to the one before it by hash."""

    id: int = Field(primary_key=True, sa_column_kwargs={"autoincrement": False})
    kind: str
    happened_on: date = Field(index=True)
    happened_at: datetime | None = Field(default=None, sa_type=UtcDateTime)
    entered_at: datetime = Field(sa_type=UtcDateTime)
    by: str
    note: str = Field(sa_type=Text)
    summary: str = Field(sa_type=Text)
    client_key: str | None = Field(default=None, unique=True)
    client_sha256: str | None = None
    undoes: int | None = Field(default=None, foreign_key="entry.id", unique=True)
    lot_id: int | None = Field(default=None, index=True)
    prev_hash: str
    hash: str


class Place(SQLModel, table=True):
    """Where stock can be; the built-in ones have no entry."""

    name: str = Field(primary_key=True)
    kind: str
    capacity_bars: int | None = None
    entry_id: int | None = Field(default=None, foreign_key="entry.id")


class Lot(SQLModel, table=True):
    """A lot, named inside by the entry that opened it."""

    id: int = Field(
        primary_key=True, foreign_key="entry.id", sa_column_kwargs={"autoincrement": False}
    )
    code: str = Field(index=True)
    kind: str
    item: str = Field(index=True)


class Posting(SQLModel, table=True):
    """A quantity of a lot that came to a place (positive) or left it (negative)."""

    __table_args__ = (
        Index("ix_posting_lot", "lot_id", "unit", "place", "quantity"),
        Index("ix_posting_place", "place", "unit", "quantity"),
    )

    entry_id: int = Field(primary_key=True, foreign_key="entry.id")
    line: int = Field(primary_key=True)
    lot_id: int = Field(foreign_key="lot.id")
    unit: str
    place: str = Field(foreign_key="place.name")
    quantity: int = Field(sa_type=BigInteger)


class RecipeText(SQLModel, table=True):
    """A frozen version of a recipe."""

    __tablename__ = "recipe_version"
    __table_args__ = (Index("ux_recipe_version", "code", "version", unique=True),)

    entry_id: int = Field(primary_key=True, foreign_key="entry.id")
    code: str
    version: int
    text: str = Field(sa_type=Text)
    sha256: str


class Receipt(SQLModel, table=True):
    """An ingredient lot as received."""

    entry_id: int = Field(primary_key=True, foreign_key="entry.id")
    ingredient: str
    mass_mg: int = Field(sa_type=BigInteger)
    supplier: str
    supplier_lot: str
    cost_cents: int | None = Field(default=None, sa_type=BigInteger)
    currency: str
    best_before: date | None = None
    sv_low: float | None = None
    sv_nominal: float | None = None
    sv_high: float | None = None
    certificate: str
    animal: str
    raw_fat_mg: int | None = Field(default=None, sa_type=BigInteger)
    place: str


class Pour(SQLModel, table=True):
    """A pour and its conditions."""

    entry_id: int = Field(primary_key=True, foreign_key="entry.id")
    recipe_entry_id: int = Field(foreign_key="recipe_version.entry_id", index=True)
    planned_json: str = Field(sa_type=Text)
    judgement_json: str = Field(sa_type=Text)
    batter_mg: int = Field(sa_type=BigInteger)
    lye_c: float | None = None
    fats_c: float | None = None
    peak_c: float | None = None
    room_c: float | None = None
    room_rh: float | None = None
    trace_minutes: float | None = None
    mould: str


class Figure(SQLModel, table=True):
    """One more measured figure of a receipt or a pour, by name, when it is known."""

    entry_id: int = Field(primary_key=True, foreign_key="entry.id")
    line: int = Field(primary_key=True)
    name: str
    value: float


class UseLine(SQLModel, table=True):
    """What went into a pour or a rendering, in the order it was given."""

    __tablename__ = "use_line"

    entry_id: int = Field(primary_key=True, foreign_key="entry.id")
    line: int = Field(primary_key=True)
    lot_id: int | None = Field(default=None, foreign_key="lot.id", index=True)
    ingredient: str
    role: str
    mass_mg: int = Field(sa_type=BigInteger)
    bars: int | None = None
    place: str | None = None


class Unmould(SQLModel, table=True):
    """Bars out of the mould."""

    entry_id: int = Field(primary_key=True, foreign_key="entry.id")
    lot_id: int = Field(foreign_key="lot.id", index=True)
    bars: int
    rejects: int
    counted_bars: int
    counted_mass_mg: int = Field(sa_type=BigInteger)
    place: str


class WeighIn(SQLModel, table=True):
    """Mass of a counted set of bars."""

    __tablename__ = "weigh_in"

    entry_id: int = Field(primary_key=True, foreign_key="entry.id")
    lot_id: int = Field(foreign_key="lot.id", index=True)
    bars: int
    mass_mg: int = Field(sa_type=BigInteger)
    place: str | None = None
    room_c: float | None = None
    room_rh: float | None = None


class Finding(SQLModel, table=True):
    """A test of a lot."""

    __tablename__ = "test_result"

    entry_id: int = Field(primary_key=True, foreign_key="entry.id")
    lot_id: int = Field(foreign_key="lot.id", index=True)
    method: str
    passed: bool
    value: str


class Decision(SQLModel, table=True):
    """Release, hold or reject."""

    entry_id: int = Field(primary_key=True, foreign_key="entry.id")
    lot_id: int = Field(foreign_key="lot.id", index=True)
    decision: str
    reason: str = Field(sa_type=Text)


class Movement(SQLModel, table=True):
    """What a move, shipment, return, sample, waste or count said; postings say how much."""

    entry_id: int = Field(primary_key=True, foreign_key="entry.id")
    lot_id: int = Field(foreign_key="lot.id", index=True)
    unit: str
    quantity: int = Field(sa_type=BigInteger)
    from_place: str
    to_place: str
    reason: str = Field(sa_type=Text)
    customer: str = Field(index=True)
    order_ref: str = Field(index=True)
    destination: str = Field(sa_type=Text)
    counted: int | None = Field(default=None, sa_type=BigInteger)


def table_of(model: type[SQLModel]) -> Table:
    """The Core table behind a model."""
    return cast(Table, model.__table__)  # type: ignore[attr-defined]


ENTRY, PLACE, LOT, POSTING = (table_of(m) for m in (Entry, Place, Lot, Posting))
RECIPE, RECEIPT, POUR, USE = (table_of(m) for m in (RecipeText, Receipt, Pour, UseLine))
UNMOULD, WEIGH, TEST, DECISION = (table_of(m) for m in (Unmould, WeighIn, Finding, Decision))
MOVEMENT = table_of(Movement)
FIGURE = table_of(Figure)
