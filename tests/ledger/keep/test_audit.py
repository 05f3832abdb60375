"""A changed past is found, whatever was changed."""

import sqlite3

import pytest

from soapstock.ledger.keep.audit import audit, check_balance, check_chain
from soapstock.ledger.store import open_ledger
from tests.ledger.conftest import Maker


def _tamper(url: str, *statements: str) -> None:
    """Change the file past its triggers, as someone with a database program could."""
    with sqlite3.connect(url.removeprefix("sqlite:///")) as other:
        names = other.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall()
        for (name,) in names:
            other.execute(f"DROP TRIGGER {name}")
        for statement in statements:
            other.execute(statement)
    other.close()


@pytest.fixture
def shop(sqlite_url, maker):
    """A ledger with a little of everything."""
    with open_ledger(sqlite_url) as ledger, ledger.write() as w:
        maker.released(w)
        w.weigh(maker.stamp(9), "DRF1", 10, 1_000_000, room_c=18)
        w.ship(maker.stamp(40), "DRF1", 3, "rack", "Invented Shop", "O-1")
        w.add_place(maker.stamp(), "rack-2", "rack")
    return sqlite_url


def _findings(url):
    with open_ledger(url) as ledger, ledger.read() as r:
        return [(p.rule, p.where, p.message) for p in [*check_balance(r.db), *check_chain(r.db)]]


def test_an_honest_ledger_has_no_findings(shop):
    """Neither in balance nor in the chain."""
    assert _findings(shop) == []


@pytest.mark.parametrize(
    ("statement", "where"),
    [
        ("UPDATE weigh_in SET mass_mg = mass_mg + 1", "entry 6"),
        ("UPDATE weigh_in SET room_c = NULL", "entry 6"),
        ("UPDATE receipt SET supplier = 'Someone Else'", "entry 2"),
        ("UPDATE decision SET reason = 'really'", "entry 5"),
        ("UPDATE movement SET customer = 'Nobody'", "entry 7"),
        ("UPDATE entry SET by = 'Not Me' WHERE id = 3", "entry 3"),
        ("UPDATE entry SET happened_on = '2020-01-01' WHERE id = 4", "entry 4"),
        ("UPDATE posting SET place = 'shelf' WHERE place = 'rack'", "entry 4"),
        ("UPDATE place SET kind = 'shelf' WHERE name = 'rack-2'", "entry 8"),
        ("UPDATE recipe_version SET text = 'other'", "entry 1"),
        ("DELETE FROM use_line", "entry 3"),
        ("INSERT INTO posting VALUES (6, 1, 3, 'bars', 'rack', 5)", "entry 6"),
    ],
)
def test_a_changed_fact_is_found_where_it_is(shop, statement, where):
    """The finding names the entry."""
    _tamper(shop, statement)
    assert any(rule == "chain" and at == where for rule, at, _ in _findings(shop))


def test_a_deleted_entry_is_found(shop):
    """With all its rows gone, its number is missing."""
    _tamper(shop, "DELETE FROM weigh_in", "DELETE FROM entry WHERE id = 6")
    assert ("chain", "entry 6", "is missing (the next one is 7)") in _findings(shop)


def test_facts_of_no_entry_are_found(shop):
    """Rows that name an entry that is not there."""
    _tamper(shop, "INSERT INTO posting VALUES (99, 1, 3, 'bars', 'rack', 5)")
    assert ("chain", "entry 99", "has stray rows in posting") in _findings(shop)


def test_a_forged_entry_with_its_own_hash_breaks_the_next(shop):
    """Making one hash fit leaves the one after it not following."""
    _tamper(shop, "UPDATE entry SET hash = 'f00' WHERE id = 5")
    found = _findings(shop)
    assert any(at == "entry 5" for _, at, _ in found)
    assert any(at == "entry 6" and "does not follow" in what for _, at, what in found)


def test_unbalanced_and_negative_postings_are_found(shop):
    """Both, each with how much."""
    _tamper(shop, "UPDATE posting SET quantity = -12 WHERE entry_id = 7 AND quantity < 0")
    rules = {(rule, message) for rule, _, message in _findings(shop)}
    assert ("balance", "postings of DRF1 do not sum to zero: -9 bars over") in rules
    assert ("negative-stock", "rack holds -2 bars, less than nothing") in rules


def test_what_nobody_can_have_and_undos_before_their_time_are_found(shop):
    """A customer with fewer bars than none, and an undo dated before what it undoes."""
    with open_ledger(shop) as ledger, ledger.write() as w:
        noted = w.undo(Maker().stamp(41), 6, "wrong scale")
        w.take_back(Maker().stamp(41), "DRF1", 2, "Invented Shop")
    _tamper(
        shop,
        "UPDATE movement SET quantity = 5 WHERE to_place = 'returned'",
        f"UPDATE entry SET happened_on = '2026-09-02' WHERE id = {noted}",
    )
    with open_ledger(shop) as ledger, ledger.read() as r:
        found = {(p.rule, p.where, p.message) for p in audit(r).problems}
    assert ("negative-stock", "DRF1", "Invented Shop has -2 bars, less than nothing") in found
    assert any(rule == "order" and where == f"entry {noted}" for rule, where, _ in found)
