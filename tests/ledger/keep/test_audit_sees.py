"""Whatever is changed behind the program's back is found: each column, each object, once."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from sqlalchemy import Boolean, Column, Connection, Date, Float, Integer, Table, select, text

from soapstock.ledger.base.sql import UtcDateTime
from soapstock.ledger.base.tables import ENTRY, entry_column, fact_tables
from soapstock.ledger.keep.audit import audit, check_chain, guarded
from soapstock.ledger.keep.audit_objects import (
    check_cells,
    check_objects,
    differences,
    fresh_objects,
    objects_in,
)
from soapstock.ledger.read.reader import Reader
from soapstock.ledger.store import Ledger
from soapstock.ledger.write.writer import Writer

NAMED = {"place": "rack", "unit": "bars"}


def filled(column: Column[Any], writer: Writer, orders: int) -> Any:
    """Any value that a column of a new entry's row may hold."""
    if column.foreign_keys:
        to = next(iter(column.foreign_keys)).target_fullname
        found = {"lot.id": 3, "recipe_version.entry_id": 1, "customer_order.entry_id": orders}
        return "rack" if to == "place.name" else found.get(to, writer.next_id)
    if isinstance(column.type, UtcDateTime):
        return datetime(2026, 11, 20, tzinfo=UTC)
    if isinstance(column.type, Date):
        return date(2026, 11, 20)
    if isinstance(column.type, Boolean):
        return True
    if isinstance(column.type, Float):
        return 1.5
    if isinstance(column.type, Integer):
        return 7
    return NAMED.get(column.name, f"any-{writer.next_id}")


@pytest.fixture
def full(ledger: Ledger, maker: Any) -> Ledger:
    """A ledger with a row in every table, each column filled; its facts make no sense."""
    with ledger.write() as w:
        maker.released(w)
        orders = w.next_id
        for table in sorted(fact_tables(), key=lambda t: t.name != "customer_order"):
            row = {c.name: filled(c, w, orders) for c in table.columns}
            row[entry_column(table).name] = w.next_id
            if table.name != "posting":
                w.enter(
                    maker.stamp(31, client_key=f"k{w.next_id}"),
                    "any",
                    summary="any",
                    facts=[(table, row)],
                )
        w.undo(maker.stamp(50), 5, "wrong")
    return ledger


def another(column: Column[Any], value: Any) -> Any:
    """Another value than a cell holds."""
    if value is None:
        value = filled(column, _Numbers, 1)
    if isinstance(value, bool):
        return not value
    if isinstance(value, datetime):
        return value + timedelta(seconds=1)
    if isinstance(value, date):
        return value + timedelta(days=1)
    return f"{value}x" if isinstance(value, str) else value + 500


class _Numbers:
    next_id = 9


@pytest.fixture
def unguarded(full: Ledger, url: str) -> Iterator[Connection]:
    """The ledger inside a transaction in which nothing refuses a change."""
    with full.write() as w:
        save = w.db.begin_nested()
        if url.startswith("sqlite"):
            names = w.db.execute(text("SELECT name FROM sqlite_master WHERE type = 'trigger'"))
            for (name,) in list(names):
                w.db.execute(text(f"DROP TRIGGER {name}"))
            w.db.execute(text("PRAGMA defer_foreign_keys = ON"))
        else:
            w.db.execute(text("SET LOCAL session_replication_role = replica"))
        yield w.db
        if save.is_active:
            save.rollback()


def columns() -> list[tuple[Table, Column[Any]]]:
    """Every column of every table."""
    return [(table, column) for table in (ENTRY, *fact_tables()) for column in table.columns]


def found_in(db: Connection) -> list[str]:
    """What the two checks find that look at every cell; the others judge the sense of facts."""
    return [p.message for check in (check_cells, check_chain) for p in guarded(db, check)]


@pytest.mark.postgres
def test_each_changed_cell_of_each_table_is_found(unguarded: Connection, url: str) -> None:
    """One after the other, to another value; in a file also in the oldest row, and to none.

    What a server holds is checked by the same code, and each change costs it more.
    """
    in_file = url.startswith("sqlite")
    assert found_in(unguarded) == []
    missed = []
    for table, column in columns():
        key = list(table.primary_key.columns)
        rows = select(table).where(entry_column(table).is_not(None)).order_by(*key)
        kept = list(unguarded.execute(rows).mappings())
        for row in (kept[0], kept[-1]) if in_file else kept[-1:]:
            values = [another(column, row[column.name])]
            if in_file and column.nullable and row[column.name] is not None:
                values.append(None)
            for value in values:
                save = unguarded.begin_nested()
                this = [c == row[c.name] for c in key]
                unguarded.execute(table.update().where(*this).values({column.name: value}))
                if not found_in(unguarded):
                    missed.append(f"{table.name}.{column.name} = {value!r}")
                save.rollback()
    assert missed == []


@pytest.mark.postgres
@pytest.mark.parametrize("which", ["oldest", "newest"])
def test_each_deleted_row_of_each_table_is_found(unguarded: Connection, which: str) -> None:
    """All but the newest entry with all its rows: that needs its hash noted elsewhere."""
    missed = []
    for table in (ENTRY, *fact_tables()):
        key = list(table.primary_key.columns)
        rows = select(*key).where(entry_column(table).is_not(None)).order_by(*key)
        row = list(unguarded.execute(rows))[0 if which == "oldest" else -1]
        save = unguarded.begin_nested()
        unguarded.execute(table.delete().where(*(c == v for c, v in zip(key, row, strict=True))))
        if not found_in(unguarded):
            missed.append(table.name)
        save.rollback()
    assert missed == ([] if which == "oldest" else ["entry"])


@pytest.mark.postgres
def test_a_fresh_ledger_has_what_a_fresh_ledger_has(ledger: Ledger) -> None:
    """And making one to compare with leaves nothing behind."""
    with ledger.read() as r:
        before = objects_in(r.db)
        assert check_objects(r.db) == []
    with ledger.read() as r:
        assert objects_in(r.db) == before
        assert len(before) > 100


@pytest.mark.postgres
def test_each_object_that_is_gone_or_changed_is_found(ledger: Ledger, url: str) -> None:
    """Every table, index, trigger, function and built-in place that the database itself lists."""
    lite = url.startswith("sqlite")
    with ledger.write() as w:
        fresh = fresh_objects(w.db)
        for kind, name in fresh:
            for sql in changes(kind, name, fresh[kind, name], lite):
                save = w.db.begin_nested()
                _unguard(w.db, lite, kind)
                for one in sql.split(";;"):
                    w.db.execute(text(one))
                found = differences(fresh, objects_in(w.db), shared=not lite)
                messages = {p.message for p in found}
                assert any(f"{kind} {name}" in m for m in messages), (sql, messages)
                save.rollback()


def _unguard(db: Connection, lite: bool, kind: str) -> None:
    """Built-in places and the schema's number can be changed only where no trigger refuses it."""
    if lite and kind == "place":
        for verb in ("update", "delete"):
            db.execute(text(f"DROP TRIGGER place_no_{verb}"))
    elif not lite:
        db.execute(text("SET LOCAL session_replication_role = replica"))


def changes(kind: str, name: str, said: str, lite: bool) -> list[str]:
    """Ways to take away or change an object."""
    if kind == "place":
        where = f"WHERE name = '{name}'"
        kinds = f"UPDATE place SET kind = 'shelf2' {where}"
        return [kinds, f"UPDATE place SET capacity_bars = 9 {where}", f"DELETE FROM place {where}"]
    if kind == "schema":
        return [f"UPDATE alembic_version SET version_num = '9999' WHERE version_num = '{name}'"]
    if lite:
        return _changes_on_sqlite(kind, name, said)
    return _changes_on_a_server(kind, name)


def _changes_on_a_server(kind: str, name: str) -> list[str]:
    table, _, part = name.partition(".")
    if kind == "table":
        return [
            f"ALTER TABLE {name} RENAME TO old_{name}",
            f"ALTER TABLE {name} ENABLE ROW LEVEL SECURITY",
        ]
    if kind == "function":
        as_made = f"CREATE OR REPLACE FUNCTION {name}() RETURNS trigger LANGUAGE plpgsql AS"
        return [f"{as_made} $$ BEGIN RETURN NEW; END $$"]
    on = f"ALTER TABLE {table}"
    if part == "foreign keys":
        return [f"{on} DISABLE TRIGGER ALL"]
    return {
        "column": [f"{on} DROP COLUMN {part} CASCADE", f"{on} RENAME COLUMN {part} TO other"],
        "index": [f"ALTER INDEX {part} RENAME TO other"],
        "constraint": [f"{on} DROP CONSTRAINT {part} CASCADE"],
        "trigger": [
            f"DROP TRIGGER {part} ON {table}",
            f"{on} DISABLE TRIGGER {part}",
            f"{on} ENABLE REPLICA TRIGGER {part}",
        ],
    }[kind]


def _changes_on_sqlite(kind: str, name: str, said: str) -> list[str]:
    if kind == "table":
        return [
            f"ALTER TABLE {name} RENAME TO old_{name}",
            f"ALTER TABLE {name} ADD COLUMN more TEXT",
        ]
    drop = f"DROP {kind} {name}"
    if kind == "trigger":
        head = re.split(" WHEN | BEGIN ", said, maxsplit=1)[0]
        return [drop, f"{drop};;{head} BEGIN SELECT 1; END"]
    on = said.partition(" ON ")[2]
    return [drop, f"{drop};;CREATE INDEX {name} ON {on} WHERE 0"]


PLANTED = {
    "sqlite": (
        "CREATE TRIGGER forge AFTER INSERT ON entry BEGIN DELETE FROM want; END",
        "CREATE VIEW list AS SELECT * FROM entry",
        "CREATE TABLE other (x)",
        "CREATE UNIQUE INDEX other ON weigh_in (lot_id)",
        "INSERT INTO place VALUES ('attic', 'rack', NULL, NULL)",
        "ALTER TABLE entry RENAME TO kept;;CREATE VIEW entry AS SELECT * FROM kept WHERE id < 9",
    ),
    "postgresql": (
        "CREATE TRIGGER forge AFTER INSERT ON entry EXECUTE FUNCTION soapstock_refuse()",
        "CREATE RULE none AS ON INSERT TO want DO INSTEAD NOTHING",
        "CREATE UNIQUE INDEX other ON weigh_in (lot_id)",
        "ALTER TABLE want ADD COLUMN more text",
        "ALTER TABLE want ADD CONSTRAINT few CHECK (bars < 9)",
        "CREATE POLICY own ON entry USING (id < 9)",
        "INSERT INTO place VALUES ('attic', 'rack', NULL, NULL)",
        "ALTER TABLE entry RENAME TO kept;;CREATE VIEW entry AS SELECT * FROM kept WHERE id < 9",
    ),
}


@pytest.mark.postgres
def test_what_was_planted_is_found(ledger: Ledger) -> None:
    """A trigger that forges, a rule, a view in a table's place, a place nobody entered."""
    with ledger.write() as w:
        for sql in PLANTED[w.db.dialect.name]:
            save = w.db.begin_nested()
            for one in sql.split(";;"):
                w.db.execute(text(one))
            assert check_objects(w.db) != [], sql
            save.rollback()


def test_other_programs_tables_on_a_server_are_none_of_our_business(
    ledger: Ledger, url: str
) -> None:
    """A schema may be shared; a file is the ledger's alone."""
    if url.startswith("sqlite"):
        pytest.skip("a file is not shared")
    with ledger.write() as w:
        save = w.db.begin_nested()
        w.db.execute(text("CREATE TABLE visits (x integer PRIMARY KEY)"))
        assert check_objects(w.db) == []
        save.rollback()


SPOILT = (
    "UPDATE entry SET happened_on = '2026-09-01 ' WHERE id = 1",
    "UPDATE entry SET happened_on = 'soon' WHERE id = 1",
    "UPDATE entry SET entered_at = '2026-13-01 08:00:00.000000' WHERE id = 1",
    "UPDATE entry SET summary = x'ff00' WHERE id = 1",
    "UPDATE entry SET summary = CAST(x'ff' AS TEXT) WHERE id = 1",
    "UPDATE weigh_in SET mass_mg = 'much'",
    "UPDATE weigh_in SET room_c = 'warm'",
    "UPDATE test_result SET passed = 2",
    "UPDATE posting SET quantity = 1.5 WHERE entry_id = 4 AND line = 1",
    "UPDATE recipe_version SET version = 'one'",
    "DROP TABLE weigh_in",
    "DROP TABLE posting",
    "DROP TABLE alembic_version",
    "DROP TABLE place",
)


@pytest.mark.parametrize("sql", SPOILT)
def test_spoilt_cells_and_tables_are_findings_and_no_crash(
    sqlite_url: str, maker: Any, sql: str
) -> None:
    """The audit tells what cannot be read, instead of falling over it."""
    from soapstock.ledger.store import open_ledger

    with open_ledger(sqlite_url) as ledger:
        with ledger.write() as w:
            maker.released(w)
            w.weigh(maker.stamp(9), "DRF1", 10, 1_000_000, room_c=18)
            w.test(maker.stamp(9), "DRF1", "tongue", True)
        with ledger.write() as w:
            for (name,) in list(
                w.db.execute(text("SELECT name FROM sqlite_master WHERE type = 'trigger'"))
            ):
                w.db.execute(text(f"DROP TRIGGER {name}"))
            w.db.execute(text("PRAGMA defer_foreign_keys = ON"))
            w.db.execute(text(sql))
            found = [p for p in audit(Reader(w.db)).problems if "trigger" not in p.message]
            w.db.rollback()
    assert found, sql
