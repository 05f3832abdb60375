"""Reviewing the database itself: its own objects, and whether each cell holds what its column says.

The tables, indexes, triggers and built-in places are compared with those of a ledger made afresh: a
trigger that is gone guards nothing, and one that was planted may forge the next entry. On SQLite
the fresh ledger is made in memory; on PostgreSQL in a schema that is never committed, by the same
server, so that both are described in the same words.
"""

from __future__ import annotations

import secrets
from collections.abc import Iterator
from functools import cache
from typing import Any

from sqlalchemy import (
    Boolean,
    Column,
    Connection,
    Date,
    Float,
    Integer,
    LargeBinary,
    Select,
    Table,
    TextClause,
    cast,
    create_engine,
    func,
    select,
    text,
)
from sqlalchemy.exc import DBAPIError

from soapstock.errors import Problem
from soapstock.ledger.base.sql import UtcDateTime
from soapstock.ledger.base.tables import ENTRY, entry_column, fact_tables_in
from soapstock.ledger.keep.migrate import upgrade_connection
from soapstock.units import several

Objects = dict[tuple[str, str], str]  # (kind, name): what the database says of it

_COMMON = """
    SELECT 'place', name, kind || coalesce(' ' || capacity_bars, '') FROM place
    WHERE entry_id IS NULL UNION ALL SELECT 'schema', version_num, '' FROM alembic_version"""
_SQLITE = "SELECT type, name, sql FROM sqlite_master WHERE name NOT LIKE 'sqlite\\_%' ESCAPE '\\'"
_POSTGRESQL = """
    SELECT 'table', c.relname::text, concat_ws(' ', c.relkind, c.relpersistence,
        c.relrowsecurity, c.relforcerowsecurity, c.reloptions::text)
    FROM pg_class c WHERE OURS AND c.relkind NOT IN ('i', 'I', 't')
    UNION ALL SELECT 'column', c.relname || '.' || a.attname, concat_ws(' ',
        format_type(a.atttypid, a.atttypmod), a.attnotnull, a.attcollation, a.attgenerated,
        (SELECT pg_get_expr(d.adbin, d.adrelid) FROM pg_attrdef d
            WHERE d.adrelid = a.attrelid AND d.adnum = a.attnum))
    FROM pg_attribute a JOIN pg_class c ON c.oid = a.attrelid
    WHERE OURS AND c.relkind NOT IN ('i', 'I', 't') AND a.attnum > 0 AND NOT a.attisdropped
    UNION ALL SELECT 'index', c.relname || '.' || x.relname, concat_ws(' ',
        pg_get_indexdef(i.indexrelid), i.indisvalid, i.indisready)
    FROM pg_index i JOIN pg_class c ON c.oid = i.indrelid JOIN pg_class x ON x.oid = i.indexrelid
    WHERE OURS AND c.relkind <> 't'
    UNION ALL SELECT 'constraint', c.relname || '.' || n.conname, concat_ws(' ',
        pg_get_constraintdef(n.oid), n.convalidated)
    FROM pg_constraint n JOIN pg_class c ON c.oid = n.conrelid WHERE OURS
    UNION ALL SELECT 'trigger', c.relname || '.' || t.tgname, concat_ws(' ',
        pg_get_triggerdef(t.oid, true), t.tgenabled)
    FROM pg_trigger t JOIN pg_class c ON c.oid = t.tgrelid WHERE OURS AND NOT t.tgisinternal
    UNION ALL SELECT 'trigger', c.relname || '.foreign keys', string_agg(t.tgenabled::text, '')
    FROM pg_trigger t JOIN pg_class c ON c.oid = t.tgrelid WHERE OURS AND t.tgisinternal
    GROUP BY c.relname
    UNION ALL SELECT 'rule', c.relname || '.' || r.rulename, pg_get_ruledef(r.oid)
    FROM pg_rewrite r JOIN pg_class c ON c.oid = r.ev_class WHERE OURS
    UNION ALL SELECT 'policy', c.relname || '.' || p.polname, p.polcmd::text
    FROM pg_policy p JOIN pg_class c ON c.oid = p.polrelid WHERE OURS
    UNION ALL SELECT 'function', f.proname::text, concat_ws(' ', f.prosrc, f.prosecdef,
        f.proconfig::text, (SELECT l.lanname FROM pg_language l WHERE l.oid = f.prolang))
    FROM pg_proc f WHERE f.pronamespace = current_schema()::regnamespace
""".replace("OURS", "c.relnamespace = current_schema()::regnamespace")
_ASIDE = {"table", "function"}  # of others, which may share a server's schema with a ledger


def check_objects(db: Connection) -> list[Problem]:
    """Findings where the database has other objects or built-in places than a fresh ledger."""
    try:
        fresh = fresh_objects(db)
    except DBAPIError as error:
        return [_finding(f"cannot be compared with a fresh ledger's: {error.orig}")]
    return differences(fresh, objects_in(db), shared=db.dialect.name != "sqlite")


def differences(fresh: Objects, found: Objects, *, shared: bool) -> list[Problem]:
    """What is missing, other than it was made, or none of a ledger's.

    Args:
        shared: other programs may have tables beside the ledger's.
    """
    tables = {name for kind, name in fresh if kind == "table"}
    problems = []
    for kind, name in sorted({*fresh, *found}):
        said, wanted = found.get((kind, name)), fresh.get((kind, name))
        if said == wanted:
            continue
        of_ours = "." not in name or name.split(".")[0] in tables
        if wanted is None and shared and (kind in _ASIDE or not of_ours):
            continue
        what = "is missing" if said is None else "is not as the program made it"
        problems.append(
            _finding(f"{kind} {name} {'is none of the program' if wanted is None else what}")
        )
    return problems


def _finding(message: str) -> Problem:
    return Problem(where="ledger's database", message=message, rule="objects", severity="error")


def fresh_objects(db: Connection) -> Objects:
    """The objects of a ledger made now, on the same kind of database."""
    if db.dialect.name == "sqlite":
        engine = create_engine("sqlite://")
        with engine.connect() as connection, connection.begin():
            upgrade_connection(connection)
            return objects_in(connection)
    name = f"soapstock_fresh_{secrets.token_hex(6)}"
    with db.engine.connect() as connection, connection.begin() as transaction:
        connection.execute(text(f"CREATE SCHEMA {name}"))
        connection.execute(text(f"SET LOCAL search_path TO {name}"))
        upgrade_connection(connection)
        found = objects_in(connection)
        transaction.rollback()
    return found


def objects_in(db: Connection) -> Objects:
    """Every object of a ledger's database, and its built-in places."""
    sql, prefix = _SQLITE, ""
    if db.dialect.name != "sqlite":
        sql, prefix = _POSTGRESQL, f"{db.exec_driver_sql('SELECT current_schema()').scalar()}."
    found = {(kind, name): said or "" for kind, name, said in db.execute(text(sql))}
    if prefix:
        found = {key: said.replace(prefix, "") for key, said in found.items()}
    try:
        with db.begin_nested():
            found |= {(kind, name): said for kind, name, said in db.execute(text(_COMMON))}
    except DBAPIError:  # one of their tables is gone, which is found as such
        pass
    return found


def check_cells(db: Connection) -> list[Problem]:
    """Findings where a cell of a SQLite table holds something else than its column says.

    A server keeps other things out of its columns by itself.
    """
    if db.dialect.name != "sqlite":
        return []
    return [problem for table in (ENTRY, *fact_tables_in(db)) for problem in _odd_cells(db, table)]


@cache
def _odd_in(table: Table) -> tuple[list[TextClause], Select[Any]]:
    """The condition of an odd cell of each column, and the query that counts them."""
    odd = [
        text(f'"{column.name}" IS NOT NULL AND NOT ({_as_said(column)})')
        for column in table.columns
    ]
    return odd, select(*map(func.total, odd)).select_from(table)


def _odd_cells(db: Connection, table: Table) -> Iterator[Problem]:
    odd, query = _odd_in(table)
    try:
        counts = db.execute(query).one()
    except DBAPIError:  # the table is not as it was made, which is found as such
        return
    for column, condition, count in zip(table.columns, odd, counts, strict=True):
        if count:
            first = db.execute(select(func.min(entry_column(table))).where(condition)).scalar()
            what = f"{several(int(count), 'value')} in {table.name}.{column.name} not of its kind"
            yield Problem(where=f"entry {first}", message=what, rule="cells", severity="error")


def _as_said(column: Column[object]) -> str:
    """SQL that holds where a cell of a column is stored as the program stores it."""
    name, kind = f'"{column.name}"', column.type
    if isinstance(kind, UtcDateTime):
        whole = f"datetime({name}) || substr({name}, 20) = {name}"
        return f"typeof({name}) = 'text' AND {whole} AND length({name}) = 26"
    if isinstance(kind, Date):
        return f"typeof({name}) = 'text' AND date({name}) = {name}"
    if isinstance(kind, Boolean):
        return f"typeof({name}) = 'integer' AND {name} IN (0, 1)"
    if isinstance(kind, Integer):
        return f"typeof({name}) = 'integer'"
    return f"typeof({name}) = '{'real' if isinstance(kind, Float) else 'text'}'"


def unreadable_texts(db: Connection) -> list[Problem]:
    """Findings where a text of a SQLite ledger is not UTF-8; slow, for a ledger that is damaged."""
    if db.dialect.name != "sqlite":
        return []
    problems = []
    for table in (ENTRY, *fact_tables_in(db)):
        for column in table.columns:
            cells = db.execute(select(entry_column(table), cast(column, LargeBinary)))
            for entry_id in (number for number, raw in cells if not _is_text(raw)):
                what = f"{table.name}.{column.name} holds bytes that are no text"
                where = f"entry {entry_id}"
                problems.append(Problem(where=where, message=what, rule="cells", severity="error"))
    return problems


def _is_text(raw: bytes | None) -> bool:
    try:
        (raw or b"").decode("utf-8")
    except UnicodeDecodeError:
        return False
    return True
