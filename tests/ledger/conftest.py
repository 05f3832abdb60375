"""Ledgers to test on: SQLite always, and PostgreSQL.

SOAPSTOCK_TEST_PG names a server's database to use; without it a throwaway server is started where
PostgreSQL is installed, and the PostgreSQL tests are skipped where it is not.
"""

from __future__ import annotations

import os
import shutil
import uuid
from collections.abc import Callable, Iterator
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from soapstock.ledger.base.tables import fact_tables
from soapstock.ledger.facts import PourFacts, ReceiveFacts, Stamp, Use
from soapstock.ledger.keep.migrate import create
from soapstock.ledger.store import Ledger, open_ledger
from tests.ledger import throwaway_postgres

DAY_ONE = date(2026, 9, 1)


class Maker:
    """Enters the facts of an invented small shop; days count from the first of September."""

    def stamp(self, day: int = 0, **more: Any) -> Stamp:
        """A stamp on a day."""
        return Stamp(
            happened_on=DAY_ONE + timedelta(days=day),
            entered_at=datetime(2026, 9, 1, 8, tzinfo=UTC) + timedelta(days=day),
            **{"by": "Invented Maker"} | more,
        )

    def recipe(self, writer: Any, code: str = "DRF") -> None:
        """A recipe's first version."""
        writer.add_recipe(self.stamp(), code=code, text=f"code = '{code}'\n")

    def receive(self, writer: Any, lot: str = "TAL1", mass_mg: int = 5_000_000, **more: Any) -> int:
        """A fat lot on day 0."""
        facts = {"ingredient": "beef-tallow", "supplier": "Invented Farm"} | more
        return int(
            writer.receive(self.stamp(), ReceiveFacts(lot_code=lot, mass_mg=mass_mg, **facts))
        )

    def pour(
        self,
        writer: Any,
        lot: str = "DRF1",
        *,
        used: str = "TAL1",
        mass_mg: int = 1_000_000,
        day: int = 1,
        **more: Any,
    ) -> int:
        """A pour of one fat and water on day 1."""
        fat = Use(lot_code=used, ingredient="beef-tallow", role="fat", mass_mg=mass_mg)
        water = Use(ingredient="water", role="liquid", mass_mg=300_000)
        facts = PourFacts(
            lot_code=lot,
            recipe_code="DRF",
            recipe_version=1,
            uses=(fat,),
            unlotted=(water,),
            batter_mg=mass_mg + 300_000,
            **more,
        )
        return int(writer.pour(self.stamp(day), facts))

    def bars(self, writer: Any, lot: str = "DRF1", bars: int = 10) -> None:
        """Recipe, fat, pour and unmoulded bars on the rack by day 2."""
        self.recipe(writer)
        self.receive(writer)
        self.pour(writer, lot)
        writer.unmould(self.stamp(2), lot, bars, 1, bars, min(1_100_000, 110_000 * bars))

    def released(self, writer: Any, lot: str = "DRF1", bars: int = 10) -> int:
        """Bars on the rack, released on day 30; the decision's entry."""
        self.bars(writer, lot, bars)
        return int(writer.decide(self.stamp(30), lot, "release", "no zap, dry"))


@pytest.fixture
def maker() -> Maker:
    """Someone who enters facts."""
    return Maker()


@pytest.fixture(scope="session")
def template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An empty SQLite ledger to copy, since running migrations for every test is slow."""
    path = tmp_path_factory.mktemp("template") / "ledger.db"
    create(f"sqlite:///{path}")
    return path


@pytest.fixture(scope="session")
def pg_server() -> Iterator[str]:
    """URL of a database on a server; a throwaway one unless SOAPSTOCK_TEST_PG names one."""
    named = os.environ.get("SOAPSTOCK_TEST_PG", "")
    if named:
        yield named
    elif throwaway_postgres.find_programs() is None:
        pytest.skip("no PostgreSQL here: neither SOAPSTOCK_TEST_PG nor initdb")
    else:
        with throwaway_postgres.server() as started:
            yield started


@pytest.fixture(scope="session")
def pg_shared(pg_server: str) -> Iterator[str]:
    """One PostgreSQL ledger for the whole run; `url` empties it before each test."""
    name = f"test_{uuid.uuid4().hex[:12]}"
    _on_server(pg_server, f"CREATE DATABASE {name}")
    create(_database(pg_server, name))
    yield _database(pg_server, name)
    _on_server(pg_server, f"DROP DATABASE {name} WITH (FORCE)")


def _empty(url: str) -> None:
    """Take everything out of a PostgreSQL ledger, past its own triggers."""
    import psycopg

    with psycopg.connect(url) as connection:
        connection.execute("SET session_replication_role = replica")
        for table in fact_tables():
            only = " WHERE entry_id IS NOT NULL" if table.name == "place" else ""
            connection.execute(f"DELETE FROM {table.name}{only}")
        connection.execute("DELETE FROM entry")


def _database(server: str, name: str) -> str:
    return f"{server.rsplit('/', 1)[0]}/{name}"


def _on_server(server: str, sql: str) -> None:
    import psycopg

    with psycopg.connect(server, autocommit=True) as connection:
        connection.execute(sql)


@pytest.fixture
def sqlite_url(template: Path, tmp_path: Path) -> str:
    """An empty SQLite ledger."""
    shutil.copy(template, tmp_path / "ledger.db")
    return f"sqlite:///{tmp_path / 'ledger.db'}"


@pytest.fixture
def new_pg_url(pg_server: str) -> Iterator[Callable[[], str]]:
    """Makes bare PostgreSQL databases and drops them afterwards."""
    made: list[str] = []

    def make() -> str:
        name = f"test_{uuid.uuid4().hex[:12]}"
        _on_server(pg_server, f"CREATE DATABASE {name}")
        made.append(name)
        return _database(pg_server, name)

    yield make
    for name in made:
        _on_server(pg_server, f"DROP DATABASE {name} WITH (FORCE)")


@pytest.fixture(params=["sqlite", pytest.param("postgres", marks=pytest.mark.postgres)])
def url(request: pytest.FixtureRequest) -> str:
    """An empty ledger on each database."""
    if request.param == "sqlite":
        return str(request.getfixturevalue("sqlite_url"))
    url = str(request.getfixturevalue("pg_shared"))
    _empty(url)
    return url


@pytest.fixture
def ledger(url: str) -> Iterator[Ledger]:
    """An open, empty ledger on each database."""
    with open_ledger(url) as opened:
        yield opened
