"""Reading by plain SQL, the same text for SQLite and PostgreSQL.

Reads are written as SQL instead of built from the models: the models need sqlmodel and its mappers,
which take a listing longer to import than it then works, and building and compiling a query takes
longer than running it on a small shop. The models stay what the tables are.
"""

from __future__ import annotations

import gc
import re
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from functools import cache
from typing import Any, cast

from sqlalchemy import (
    Boolean,
    Date,
    DateTime,
    Dialect,
    Integer,
    String,
    TextClause,
    TypeDecorator,
    bindparam,
    column,
    text,
)

from soapstock.ledger.places import only


class UtcDateTime(TypeDecorator[datetime]):
    """An aware instant, stored as UTC without a zone so that both databases hold the same."""

    impl = DateTime
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """Turn an aware instant into bare UTC."""
        return None if value is None else value.astimezone(UTC).replace(tzinfo=None)

    def process_result_value(self, value: Any, dialect: Dialect) -> datetime | None:
        """Give the zone back."""
        return None if value is None else cast(datetime, value).replace(tzinfo=UTC)


# Columns and parameters of these names are what SQLite has no types for: dates, instants, truths.
TYPES: dict[str, Any] = {
    "happened_on": Date,
    "poured_on": Date,
    "best_before": Date,
    "wanted_on": Date,
    "due_on": Date,
    "day": Date,
    "entered_at": UtcDateTime,
    "passed": Boolean,
    "practice": Boolean,
    "retired": Boolean,
    "seized": Boolean,
}
_LIVE = "NOT EXISTS (SELECT 1 FROM entry undo WHERE undo.undoes = {0})"


@cache
def query(sql: str) -> Any:
    """A query to execute, made once a text.

    `IN :name` takes a list as the parameter `name`, `:name` one value; `LIVE(column)` holds where
    the entry of that number was not undone, `AT(column, use)` where the place of that name has a
    use of places.py, or one of several. Columns named in TYPES come back as their type.
    """
    return _bound(sql).columns(**TYPES)


@cache
def part(columns: str, rest: str, before: str = "") -> Any:
    """A query as `query` makes it, for what is read often.

    Its columns are given apart, with spaces between, as in `f.lot_id e.happened_on`: knowing their
    order, SQLAlchemy works out only once how to read a result.

    Args:
        rest: the query from FROM on.
        before: what stands before SELECT.
    """
    wanted = columns.split()
    names = [name.rpartition(".")[2] for name in wanted]
    bound = _bound(" ".join((before, "SELECT", ", ".join(wanted), rest)))
    return bound.columns(*(column(name, TYPES.get(name)) for name in names))


def _bound(sql: str) -> TextClause:
    plain = re.sub(r"LIVE\(([\w.]+)\)", lambda found: _LIVE.format(found[1]), sql)
    plain = re.sub(r"AT\(([\w.]+), ([\w ]+)\)", lambda at: only(at[1], *at[2].split()), plain)
    lists = {name: of for of, name in re.findall(r"(\w+) IN :(\w+)", plain)}
    given = [
        bindparam(name, type_=_list_type(lists[name]), expanding=True)
        if name in lists
        else bindparam(name, type_=TYPES.get(name))
        for name in set(re.findall(r":(\w+)", plain))
    ]
    return text(plain).bindparams(*given)


def _list_type(column_name: str) -> Any:
    """The type of a list's values by the column it is compared with.

    PostgreSQL must know it where the list is empty: it compares no text with a bare number.
    """
    return Integer if column_name.endswith("id") else String


@contextmanager
def many_records() -> Iterator[None]:
    """Pause the collector of cycles: it would walk every record made, and none has one."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()
