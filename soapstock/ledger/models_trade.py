"""Tables of orders, label runs, reorder levels and recalls; loaded only by who needs them."""

from __future__ import annotations

from datetime import date
from typing import Any

from sqlalchemy import BigInteger, Connection, Table, Text, inspect
from sqlmodel import Field, SQLModel

from soapstock.ledger import models


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


ORDER, ORDER_LINE, ORDER_CLOSE, RESERVATION, LABEL_RUN, REORDER, RECALL = (
    models.table_of(m)
    for m in (
        CustomerOrder, OrderLine, OrderClose, Reservation, LabelRun, ReorderLevel, RecallRun,
    )
)  # fmt: skip


def fact_tables() -> tuple[Table, ...]:
    """Every table whose rows belong to an entry, in an order foreign keys allow; not `entry`."""
    return (
        models.PLACE, models.LOT, models.RECIPE, models.RECEIPT, models.POUR, models.USE,
        models.FIGURE, models.UNMOULD, models.WEIGH, models.TEST, models.DECISION, models.MOVEMENT,
        models.POSTING,
        ORDER, ORDER_LINE, ORDER_CLOSE, RESERVATION, LABEL_RUN, REORDER, RECALL,
    )  # fmt: skip


def fact_tables_in(db: Connection) -> tuple[Table, ...]:
    """The fact tables that this database has: an older schema lacks the newer ones."""
    there = set(inspect(db).get_table_names())
    return tuple(table for table in fact_tables() if table.name in there)


def entry_column(table: Table) -> Any:
    """The column of a fact table that names its entry (`lot` is named by the entry itself)."""
    return table.c.id if table.name == "lot" else table.c.entry_id
