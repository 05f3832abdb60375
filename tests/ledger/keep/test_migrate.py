"""An older ledger comes to today's schema, with its data, after a backup; or it stays as it was.

There is one schema so far, so the next one is invented: see next_schema.py.
"""

import sqlite3
from datetime import UTC, datetime
from pathlib import Path

import pytest
from sqlalchemy import create_engine, text

from soapstock.cli.frame.mends import help_of
from soapstock.errors import RuleBroken, StoreError
from soapstock.ledger.base import engine, schema
from soapstock.ledger.keep import migrate
from soapstock.ledger.keep.audit import audit
from soapstock.ledger.keep.transfer import copy_rows
from soapstock.ledger.store import open_ledger
from tests.ledger.next_schema import TODAY, TOMORROW, migrations

NOW = datetime(2026, 11, 25, 9, 30, tzinfo=UTC)
RELEASED = sorted((Path(__file__).parents[1] / "released").glob("*.sql"))


@pytest.fixture
def tomorrow(tmp_path, monkeypatch):
    """The program as it will be when the invented schema is the newest."""
    monkeypatch.setattr(schema, "MIGRATIONS", migrations(tmp_path))


def _old_ledger(dump: Path, folder: Path) -> str:
    path = folder / "ledger.db"
    with sqlite3.connect(path) as connection:
        connection.executescript(dump.read_text(encoding="utf-8"))
    connection.close()
    return f"sqlite:///{path}"


@pytest.mark.parametrize("dump", RELEASED, ids=lambda p: p.stem)
def test_a_released_ledger_is_upgraded_with_its_data(dump, tmp_path, maker, tomorrow):
    """The audit finds nothing, the facts are there, and new ones can be entered."""
    url = _old_ledger(dump, tmp_path)
    migrate.upgrade(url, tmp_path / "backups", now=NOW)
    with open_ledger(url) as ledger:
        with ledger.read() as r:
            assert audit(r).problems == ()
            assert r.batch("DRF1").places == {
                "customer": 3,
                "given": 1,
                "rack": 3,
                "rack-2": 4,
                "waste": 1,
            }
        with ledger.write() as w:
            w.weigh(maker.stamp(60), "DRF1", 4, 350_000)
        with ledger.read() as r:
            assert audit(r).problems == ()


@pytest.mark.parametrize("dump", RELEASED, ids=lambda p: p.stem)
def test_every_table_of_a_released_ledger_has_rows(dump, tmp_path):
    """Or its upgrade would prove nothing."""
    url = _old_ledger(dump, tmp_path)
    with sqlite3.connect(url.removeprefix("sqlite:///")) as connection:
        names = connection.execute("SELECT name FROM sqlite_master WHERE type = 'table'")
        counts = {
            name: connection.execute(f"SELECT count(*) FROM {name}").fetchone()[0]
            for (name,) in names
        }
    connection.close()
    assert min(counts.values()) > 0


def test_an_older_ledger_is_not_opened_but_told_how_to_mend(tmp_path, tomorrow):
    """Nothing is migrated behind the maker's back."""
    url = _old_ledger(RELEASED[0], tmp_path)
    with pytest.raises(StoreError, match=f"older schema {TODAY}") as caught:
        open_ledger(url)
    assert "soapstock migrate" in help_of(caught.value)


def test_the_backup_before_a_migration_is_the_old_ledger(tmp_path, tomorrow):
    """At its old schema, with every entry."""
    url = _old_ledger(RELEASED[0], tmp_path)
    done = migrate.upgrade(url, tmp_path / "backups", now=NOW)
    assert (done.before, done.after) == (TODAY, TOMORROW)
    with sqlite3.connect(done.backup) as old, sqlite3.connect(tmp_path / "ledger.db") as new:
        assert old.execute("SELECT version_num FROM alembic_version").fetchone() == (TODAY,)
        rows = "SELECT id, hash FROM entry ORDER BY id"
        assert old.execute(rows).fetchall() == new.execute(rows).fetchall()
    old.close()
    new.close()


def test_a_migration_that_fails_leaves_the_old_ledger(tmp_path, monkeypatch, tomorrow):
    """Schema changes are in one transaction."""
    url = _old_ledger(RELEASED[0], tmp_path)
    upgrade = migrate.upgrade_connection

    def failing(connection, to):
        upgrade(connection, to)
        raise RuntimeError

    monkeypatch.setattr(migrate, "upgrade_connection", failing)
    with pytest.raises(RuntimeError):
        migrate.upgrade(url, tmp_path / "backups", now=NOW)
    monkeypatch.setattr(migrate, "upgrade_connection", upgrade)
    with pytest.raises(StoreError, match=f"older schema {TODAY}"):
        open_ledger(url)
    migrate.upgrade(url, tmp_path / "backups", now=NOW)
    with open_ledger(url) as ledger, ledger.read() as r:
        assert audit(r).problems == ()


@pytest.mark.postgres
def test_a_postgresql_ledger_is_upgraded_after_a_backup_of_its_rows(tmp_path, new_pg_url, tomorrow):
    """The backup is a SQLite ledger of the old schema."""
    local, server = _old_ledger(RELEASED[0], tmp_path), new_pg_url()
    source = engine.connect_engine(engine.parse_url(local))
    target = engine.connect_engine(engine.parse_url(server))
    with source.connect() as one, one.begin(), target.connect() as two, two.begin():
        migrate.upgrade_connection(two, TODAY)
        copy_rows(one, two)
    source.dispose()
    target.dispose()
    done = migrate.upgrade(server, tmp_path / "backups", now=NOW)
    again = migrate.upgrade(f"sqlite:///{done.backup}", tmp_path / "more", now=NOW)
    assert again.before == TODAY
    with open_ledger(server) as a, a.read() as one, open_ledger(f"sqlite:///{done.backup}") as b:
        with b.read() as two:
            assert one.head() == two.head()
            assert audit(one).problems == audit(two).problems == ()


def test_a_ledger_of_a_newer_program_is_refused(sqlite_url, tmp_path):
    """Neither opened nor migrated."""
    with sqlite3.connect(sqlite_url.removeprefix("sqlite:///")) as connection:
        connection.execute("UPDATE alembic_version SET version_num = '9999'")
    connection.close()
    for attempt in (open_ledger, lambda url: migrate.upgrade(url, tmp_path, now=NOW)):
        with pytest.raises(StoreError, match="newer soapstock"):
            attempt(sqlite_url)


def test_sqlite_integrity_check_passes_after_a_migration(tmp_path, tomorrow):
    """SQLite's own check of the file (PRAGMA integrity_check, sqlite.org/pragma.html)."""
    url = _old_ledger(RELEASED[0], tmp_path)
    migrate.upgrade(url, tmp_path / "backups", now=NOW)
    database = create_engine(url)
    with database.connect() as connection:
        said = connection.exec_driver_sql("PRAGMA integrity_check").scalar()
    database.dispose()
    assert said == "ok"


@pytest.mark.parametrize("on", ["sqlite", pytest.param("postgres", marks=pytest.mark.postgres)])
def test_a_table_of_a_later_schema_is_append_only_too(on, tmp_path, maker, tomorrow, request):
    """The step that makes it sets its triggers; on each database."""
    server = on == "postgres"
    url = request.getfixturevalue("new_pg_url")() if server else f"sqlite:///{tmp_path / 'new.db'}"
    migrate.create(url)
    with open_ledger(url) as ledger:
        with ledger.write() as w:
            lot = maker.receive(w)
            w.db.execute(text(f"INSERT INTO stamp_mark VALUES ({lot}, {lot}, 'gull')"))
        for change in ("UPDATE stamp_mark SET mark = 'tern'", "DELETE FROM stamp_mark"):
            with pytest.raises(RuleBroken, match="append-only"), ledger.write() as w:
                w.db.execute(text(change))
