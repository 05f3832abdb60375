"""A ledger moved to another database is the same ledger."""

import pytest

from soapstock.errors import StoreError
from soapstock.ledger.keep.audit import audit
from soapstock.ledger.keep.transfer import fingerprint, move_to
from soapstock.ledger.store import open_ledger


@pytest.fixture
def full(url, maker):
    """A ledger with a little of everything, an undone lot and its successor of the same code."""
    with open_ledger(url) as ledger:
        with ledger.write() as w:
            w.undo(maker.stamp(), maker.receive(w), "typed wrong é 漢 'quoted'")
            maker.released(w)
            w.weigh(
                maker.stamp(9, client_key="k", client_said="a" * 64),
                "DRF1",
                10,
                1_000_000,
                room_c=18.3,
            )
            w.ship(maker.stamp(40), "DRF1", 3, "rack", "Invented Shop", "O-1")
            w.add_place(maker.stamp(), "rack-2", "rack", 40)
        yield ledger


def test_copy_to_sqlite_is_equal(full, tmp_path):
    """Row by row, and the copy audits clean."""
    target = f"sqlite:///{tmp_path / 'copy.db'}"
    done = move_to(full, target)
    with full.read() as one, open_ledger(target) as copy, copy.read() as two:
        assert fingerprint(one.db) == fingerprint(two.db)
        assert audit(two).problems == ()
        assert done.head_hash == one.head()[1] == two.head()[1]


@pytest.mark.postgres
def test_copy_to_postgresql_is_equal_and_takes_new_entries(full, new_pg_url, maker):
    """The chain goes on where it was."""
    target = new_pg_url()
    move_to(full, target)
    with full.read() as one, open_ledger(target) as copy:
        with copy.read() as two:
            assert fingerprint(one.db) == fingerprint(two.db)
        with copy.write() as w:
            w.weigh(maker.stamp(41), "DRF1", 3, 290_000)
        with copy.read() as two:
            assert audit(two).problems == ()


def test_copy_never_goes_over_a_ledger(full, sqlite_url, tmp_path):
    """A database that has a ledger is refused."""
    target = f"sqlite:///{tmp_path / 'copy.db'}"
    move_to(full, target)
    with pytest.raises(StoreError, match="already"):
        move_to(full, target)


def test_copy_that_differs_is_not_kept(full, tmp_path, monkeypatch):
    """When the comparison fails, no file stays."""
    from soapstock.ledger.keep import transfer

    monkeypatch.setattr(transfer, "fingerprint", lambda db: {"entry": str(id(db))})
    with pytest.raises(StoreError, match="the copy differs in entry"):
        move_to(full, f"sqlite:///{tmp_path / 'copy.db'}")
    assert not (tmp_path / "copy.db").exists()
