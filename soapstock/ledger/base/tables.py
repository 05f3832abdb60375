"""The ledger's tables as SQLModel classes; all of them append-only.

What a record of facts.py declares is made a class from it; what no reader sees as such (entries,
postings, what was moved) is declared here.

Every fact belongs to an `entry`; every movement of stock is a set of `posting` rows that sum to
zero per lot and unit. A lot is named inside by the id of the entry that opened it, so a lot code
freed by an undo can be used again. Writes go through the Table objects at the end, which are
cheaper than mapped instances; reads are plain SQL (sql.py), so that listing the rack pays for no
model.
"""

from __future__ import annotations

from datetime import date, datetime
from typing import Any, Literal, cast, get_args, get_origin

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
from soapstock.ledger.facts import (
    CustomerOrder,
    DecisionRecord,
    DeclaredRecord,
    InvoiceHead,
    InvoiceLineFacts,
    LotFact,
    OldPageFacts,
    OrderLineFacts,
    Photo,
    Pour,
    Price,
    Receipt,
    Retirement,
    Sale,
    Spent,
    TestRecord,
    UnmouldRecord,
    UseLine,
    Want,
    WeighRecord,
    batch_facts,
    columns_of,
)


class Entry(SQLModel, table=True):
    """One fact entered, chained to the one before it by hash."""

    id: int = Field(primary_key=True, sa_column_kwargs={"autoincrement": False})
    kind: str
    happened_on: date = Field(index=True)
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
    hazard: str = Field(default="", sa_type=Text)
    remedy: str = Field(default="", sa_type=Text)


def table_of(model: type[SQLModel]) -> Table:
    """The Core table behind a model."""
    return cast(Table, model.__table__)  # type: ignore[attr-defined]


MARKS: dict[str, dict[str, Any]] = {
    "big": {"sa_type": BigInteger},
    "long": {"sa_type": Text},
    "index": {"index": True},
}


def _kept_as(kind: Any) -> tuple[Any, dict[str, Any]]:
    """The type of a model's field, and what Field must know, of a type as facts.py writes it."""
    options: dict[str, Any] = {}
    args = get_args(kind)
    if type(None) in args:
        kind, options = _kept_as(args[0])
        return kind | None, options | {"default": None}
    if get_origin(kind) is Literal:
        return str, options
    for mark in getattr(kind, "__metadata__", ()):
        options |= MARKS[mark]
    return getattr(kind, "__origin__", kind), options


def _declared(record: Any, *indexes: Index, **keys: Any) -> Table:
    """The table of a record that facts.py declares.

    Args:
        indexes: over several columns.
        keys: columns that tie it to its entry and others, by name: what Field must know.
    """
    fields = {name: _kept_as(kind) for name, kind in columns_of(record).items()}
    fields = {name: (int, options) for name, options in keys.items()} | {
        name: kept for name, kept in fields.items() if name not in keys
    }
    body = {
        "__module__": __name__,
        "__qualname__": record.__name__,
        "__doc__": record.__doc__,
        "__tablename__": record.TABLE,
        "__table_args__": indexes,
        "__annotations__": {name: kind for name, (kind, _) in fields.items()},
        **{name: Field(**options) for name, (_, options) in fields.items()},
    }
    make: Any = type(SQLModel)
    return table_of(make(record.__name__, (SQLModel,), body, table=True))


OF_ENTRY = {"entry_id": {"primary_key": True, "foreign_key": "entry.id"}}
LINES = OF_ENTRY | {"line": {"primary_key": True}}
OF_LOT = OF_ENTRY | {"lot_id": {"foreign_key": "lot.id", "index": True}}

ENTRY, PLACE, LOT, POSTING = (table_of(m) for m in (Entry, Place, Lot, Posting))
RECIPE, MOVEMENT = table_of(RecipeText), table_of(Movement)
RECEIPT = _declared(Receipt, **OF_ENTRY)
POUR = _declared(
    Pour, **OF_ENTRY, recipe_entry_id={"foreign_key": "recipe_version.entry_id", "index": True}
)
ANY_LOT = {"lot_id": {"foreign_key": "lot.id", "index": True, "nullable": True}}
USE = _declared(UseLine, **LINES, **ANY_LOT)
ORDER = _declared(CustomerOrder, **OF_ENTRY)
ORDER_LINE = _declared(OrderLineFacts, **LINES)
WANT = _declared(Want, **OF_ENTRY)
OLD_PAGE = _declared(OldPageFacts, **LINES)
SPENT = _declared(Spent, **OF_ENTRY, **ANY_LOT)
PRICE = _declared(Price, **OF_ENTRY)
RETIREMENT = _declared(Retirement, **OF_ENTRY)
OF_SOLD = {"sold": {"foreign_key": "entry.id", "index": True}}
SALE = _declared(Sale, **OF_ENTRY, **OF_SOLD)
INVOICE = _declared(InvoiceHead, Index("ux_invoice", "series", "number", unique=True), **OF_ENTRY)
INVOICE_LINE = _declared(InvoiceLineFacts, **LINES, **OF_SOLD)
ORDER_CLOSE, RESERVATION, LABEL_RUN, REORDER, RECALL = (
    table_of(m) for m in (OrderClose, Reservation, LabelRun, ReorderLevel, RecallRun)
)
ABOUT_BATCHES: dict[type[LotFact], Table] = {
    record: _declared(record, **OF_LOT) for record, _ in batch_facts().values()
}
UNMOULD, WEIGH = ABOUT_BATCHES[UnmouldRecord], ABOUT_BATCHES[WeighRecord]
TEST, DECISION = ABOUT_BATCHES[TestRecord], ABOUT_BATCHES[DecisionRecord]
DECLARED = ABOUT_BATCHES[DeclaredRecord]
PHOTO = _declared(Photo, **OF_LOT)


def fact_tables() -> tuple[Table, ...]:
    """Every table whose rows belong to an entry, in an order foreign keys allow; not `entry`."""
    return tuple(table for table in SQLModel.metadata.sorted_tables if table is not ENTRY)


def fact_tables_in(db: Connection) -> tuple[Table, ...]:
    """The fact tables that this database has: an older schema lacks the newer ones."""
    there = set(inspect(db).get_table_names())
    return tuple(table for table in fact_tables() if table.name in there)


def entry_column(table: Table) -> Any:
    """The column of a table that names its entry (a lot has the number of the entry itself)."""
    return table.c.id if table.name in {"lot", "entry"} else table.c.entry_id


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
