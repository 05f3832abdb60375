"""Which schema a database has, asked when a ledger is opened; migrations are in keep/migrate."""

from __future__ import annotations

import os
from pathlib import Path

from sqlalchemy import Connection

from soapstock.errors import Mend, StoreError

MIGRATIONS = Path(__file__).parents[1] / "keep" / "migrations"


def newest() -> str:
    """Today's schema: the number of the newest migration; asked without alembic."""
    names = os.listdir(MIGRATIONS / "versions")
    return max(name[1:5] for name in names if name.startswith("v") and name.endswith(".py"))


def schema_version(connection: Connection) -> str | None:
    """The schema version on record, or None where there is no ledger."""
    if connection.dialect.name == "sqlite":
        sql = "SELECT count(*) FROM sqlite_master WHERE name = 'alembic_version'"
    else:
        sql = (
            "SELECT count(*) FROM pg_tables WHERE tablename = 'alembic_version' "
            "AND schemaname = ANY (current_schemas(false))"
        )
    if not connection.exec_driver_sql(sql).scalar():
        return None
    found = connection.exec_driver_sql("SELECT version_num FROM alembic_version").scalar()
    return None if found is None else str(found)


def check_schema(connection: Connection, name: str) -> None:
    """Refuse a database that is not a ledger of today's schema.

    Raises:
        StoreError: no ledger there, an older schema, or one of a newer program.
    """
    found, wanted = schema_version(connection), newest()
    if found == wanted:
        return
    if found is None:
        raise StoreError(
            f"{name} is not a ledger",
            mend=Mend("start_or_restore"),
        )
    if found < wanted:
        raise StoreError(
            f"{name} has the older schema {found}, this program needs {wanted}",
            mend=Mend("migrate"),
        )
    raise StoreError(
        f"{name} was written by a newer soapstock (schema {found})", hint="update soapstock"
    )
