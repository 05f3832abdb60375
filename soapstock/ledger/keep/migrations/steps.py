"""Steps that the migrations share: a table of facts, and the triggers that keep it append-only.

SQLite: UPDATE and DELETE are refused, and so is an insert over an existing row, since a REPLACE
deletes without firing a delete trigger. PostgreSQL has no REPLACE but has TRUNCATE, which is
refused there.
"""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa
from alembic import op


def of_entry() -> sa.Column[int]:
    """The column that ties a row to its entry."""
    return sa.Column("entry_id", sa.Integer(), sa.ForeignKey("entry.id"), primary_key=True)


def of_lot(*, null: bool = False, index: bool = True) -> sa.Column[int]:
    """The column that says which lot a row is about."""
    lot = sa.ForeignKey("lot.id")
    return sa.Column("lot_id", sa.Integer(), lot, nullable=null, index=index)


def fact_about_lot(table: str, *columns: sa.Column[Any]) -> None:
    """Make the append-only table of a fact about a lot, with these columns of its own."""
    op.create_table(table, of_entry(), of_lot(), *columns)
    append_only(table)


def append_only(table: str) -> None:
    """Refuse every change of a table's rows from now on."""
    if op.get_bind().dialect.name != "sqlite":
        for what, when, each in (
            ("change", "UPDATE OR DELETE", "ROW"),
            ("truncate", "TRUNCATE", "STATEMENT"),
        ):
            op.execute(
                f"CREATE TRIGGER {table}_no_{what} BEFORE {when} ON {table} "
                f"FOR EACH {each} EXECUTE FUNCTION soapstock_refuse()"
            )
        return
    refuse = "BEGIN SELECT RAISE(ABORT, 'append-only: {}'); END"
    for verb in ("UPDATE", "DELETE"):
        op.execute(
            f"CREATE TRIGGER {table}_no_{verb.lower()} BEFORE {verb} ON {table} "
            + refuse.format(f"{verb} of {table} refused")
        )
    op.execute(
        f"CREATE TRIGGER {table}_no_replace BEFORE INSERT ON {table} "
        f"WHEN EXISTS (SELECT 1 FROM {table} WHERE {_same_row(table)}) "
        + refuse.format(f"{table} row is there already")
    )


def _same_row(table: str) -> str:
    """The condition under which a new row would take the place of an old one."""
    seen = sa.inspect(op.get_bind())
    keys: list[list[Any]] = [seen.get_pk_constraint(table)["constrained_columns"]]
    keys += [list(found["column_names"]) for found in seen.get_unique_constraints(table)]
    keys += [list(found["column_names"]) for found in seen.get_indexes(table) if found["unique"]]
    unique = dict.fromkeys(
        " AND ".join(f"{column} = NEW.{column}" for column in key) for key in keys
    )
    return " OR ".join(f"({same})" for same in unique)
