"""The ledger's tables, defined once, as SQLModel classes; all of them append-only.

Every fact belongs to an `entry`; every movement of stock is a set of `posting` rows that sum to
zero per lot and unit. A lot is named inside by the id of the entry that opened it, so a lot code
freed by an undo can be used again. Writes go through the Table objects at the end, which are
cheaper than mapped instances; reads are plain SQL (sql.py), so that listing the rack pays for no
model.
"""

from __future__ import annotations

from datetime import date, datetime
from typing import Any, cast

from sqlalchemy import (
    BigInteger,
    ColumnElement,
    Connection,
    Index,
    Select,
    Table,
    Text,
    inspect,
    select,
)
from sqlmodel import Field, SQLModel

from soapstock.ledger.base.sql import UtcDateTime


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


class CustomerOrder(SQLModel, table=True):
    """An order as it came in."""

    __tablename__ = "customer_order"

    entry_id: int = Field(primary_key=True, foreign_key="entry.id")
    order_ref: str = Field(index=True)
    customer: str
    contact: str
    destination: str = Field(sa_type=Text)
    wanted_on: date | None = None


class OrderLine(SQLModel, table=True):
    """Bars of one recipe on an order."""

    __tablename__ = "order_line"

    entry_id: int = Field(primary_key=True, foreign_key="entry.id")
    line: int = Field(primary_key=True)
    recipe_code: str
    bars: int
    price_cents: int | None = Field(default=None, sa_type=BigInteger)
    currency: str


class OrderClose(SQLModel, table=True):
    """The maker's word that an order is done: shipped, short or cancelled."""

    __tablename__ = "order_close"

    entry_id: int = Field(primary_key=True, foreign_key="entry.id")
    order_id: int = Field(foreign_key="customer_order.entry_id", index=True)
    outcome: str
    reason: str = Field(sa_type=Text)


class Reservation(SQLModel, table=True):
    """Bars of a lot kept for an order; a negative number gives them free again."""

    entry_id: int = Field(primary_key=True, foreign_key="entry.id")
    line: int = Field(primary_key=True)
    order_id: int = Field(foreign_key="customer_order.entry_id", index=True)
    lot_id: int = Field(foreign_key="lot.id", index=True)
    bars: int


class LabelRun(SQLModel, table=True):
    """Labels printed for a lot, and how many were spoiled."""

    __tablename__ = "label_run"

    entry_id: int = Field(primary_key=True, foreign_key="entry.id")
    lot_id: int = Field(foreign_key="lot.id", index=True)
    printed: int
    spoiled: int
    used: int
    face: str


class ReorderLevel(SQLModel, table=True):
    """How little of an item calls for more; the newest row of an item stands."""

    __tablename__ = "reorder_level"

    entry_id: int = Field(primary_key=True, foreign_key="entry.id")
    item: str = Field(index=True)
    unit: str
    level: int = Field(sa_type=BigInteger)


class RecallRun(SQLModel, table=True):
    """A recall or a practice recall that was run, and what it found."""

    __tablename__ = "recall_run"

    entry_id: int = Field(primary_key=True, foreign_key="entry.id")
    lot_id: int = Field(foreign_key="lot.id", index=True)
    practice: bool
    report_json: str = Field(sa_type=Text)
    seconds: float
    accounted_percent: float


def table_of(model: type[SQLModel]) -> Table:
    """The Core table behind a model."""
    return cast(Table, model.__table__)  # type: ignore[attr-defined]


ENTRY, PLACE, LOT, POSTING = (table_of(m) for m in (Entry, Place, Lot, Posting))
RECIPE, RECEIPT, POUR, USE = (table_of(m) for m in (RecipeText, Receipt, Pour, UseLine))
UNMOULD, WEIGH, TEST, DECISION = (table_of(m) for m in (Unmould, WeighIn, Finding, Decision))
MOVEMENT = table_of(Movement)
FIGURE = table_of(Figure)
ORDER, ORDER_LINE, ORDER_CLOSE, RESERVATION, LABEL_RUN, REORDER, RECALL = (
    table_of(m)
    for m in (
        CustomerOrder, OrderLine, OrderClose, Reservation, LabelRun, ReorderLevel, RecallRun,
    )
)  # fmt: skip


def fact_tables() -> tuple[Table, ...]:
    """Every table whose rows belong to an entry, in an order foreign keys allow; not `entry`."""
    return (
        PLACE, LOT, RECIPE, RECEIPT, POUR, USE,
        FIGURE, UNMOULD, WEIGH, TEST, DECISION, MOVEMENT,
        POSTING,
        ORDER, ORDER_LINE, ORDER_CLOSE, RESERVATION, LABEL_RUN, REORDER, RECALL,
    )  # fmt: skip


def fact_tables_in(db: Connection) -> tuple[Table, ...]:
    """The fact tables that this database has: an older schema lacks the newer ones."""
    there = set(inspect(db).get_table_names())
    return tuple(table for table in fact_tables() if table.name in there)


def entry_column(table: Table) -> Any:
    """The column of a fact table that names its entry (`lot` is named by the entry itself)."""
    return table.c.id if table.name == "lot" else table.c.entry_id


UNDO = ENTRY.alias("undo")


def not_undone(entry_id: Any) -> ColumnElement[bool]:
    """True for rows whose entry was not undone."""
    return ~select(UNDO.c.id).where(UNDO.c.undoes == entry_id).exists()


def live(table: Table, *more: Any) -> Select[Any]:
    """Rows of a fact table that were not undone, with their entry's date, writer and note."""
    return (
        select(table, ENTRY.c.happened_on, ENTRY.c.by, ENTRY.c.note, *more)
        .join(ENTRY, ENTRY.c.id == table.c.entry_id)
        .where(not_undone(table.c.entry_id))
        .order_by(table.c.entry_id)
    )
