"""The hash of an entry covers what it should, and nothing that databases may vary."""

from datetime import UTC, datetime, timedelta, timezone

from soapstock.ledger.base.chain import FIRST_HASH, entry_hash
from soapstock.ledger.base.tables import ENTRY, POSTING, WEIGH

ENTRY_ROW = {"id": 1, "kind": "weigh", "entered_at": datetime(2026, 9, 1, 8, tzinfo=UTC)}


def _hash(entry=ENTRY_ROW, facts=(), prev=FIRST_HASH):
    return entry_hash(prev, ENTRY, entry, facts)


def test_missing_column_counts_as_null():
    """A row read back with all its columns hashes like the row written with some."""
    assert _hash() == _hash({**ENTRY_ROW, "undoes": None})


def test_whole_number_in_a_float_column_hashes_as_float():
    """SQLite gives back 18.0 for 18."""
    one, other = ({"entry_id": 1, "room_c": value} for value in (18, 18.0))
    assert _hash(facts=[(WEIGH, one)]) == _hash(facts=[(WEIGH, other)])


def test_same_instant_in_another_zone_hashes_the_same():
    """Instants are compared in UTC."""
    local = datetime(2026, 9, 1, 10, tzinfo=timezone(timedelta(hours=2)))
    assert _hash({**ENTRY_ROW, "entered_at": local}) == _hash()


def test_order_of_lines_does_not_matter():
    """Lines are hashed by their number, as the database keeps them in no order."""
    lines = [(POSTING, {"entry_id": 1, "line": n, "quantity": n}) for n in (1, 2, 3)]
    assert _hash(facts=lines) == _hash(facts=lines[::-1])


def test_hash_depends_on_the_one_before():
    """That is what makes it a chain."""
    assert _hash(prev="f" * 64) != _hash()
