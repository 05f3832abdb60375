"""A ledger moved to another database is the same ledger."""

import pytest

from soapstock.errors import RuleBroken, StoreError
from soapstock.ledger.keep.audit import audit
from soapstock.ledger.keep.transfer import copy_to, fingerprint, move_to
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
    done = copy_to(full, target)
    with full.read() as one, open_ledger(target) as copy, copy.read() as two:
        assert fingerprint(one.db) == fingerprint(two.db)
        assert audit(two).problems == ()
        assert done.head_hash == one.head()[1] == two.head()[1]


@pytest.mark.postgres
def test_copy_to_postgresql_is_equal_and_takes_new_entries(full, new_pg_url, maker):
    """The chain goes on where it was."""
    target = new_pg_url()
    copy_to(full, target)
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
    copy_to(full, target)
    with pytest.raises(StoreError, match="already"):
        copy_to(full, target)


def test_copy_that_differs_is_not_kept(full, tmp_path, monkeypatch):
    """When the comparison fails, no file stays."""
    from soapstock.ledger.keep import transfer

    monkeypatch.setattr(transfer, "fingerprint", lambda db: {"entry": str(id(db))})
    with pytest.raises(StoreError, match="the copy differs in entry"):
        copy_to(full, f"sqlite:///{tmp_path / 'copy.db'}")
    assert not (tmp_path / "copy.db").exists()


@pytest.fixture
def moved(full, maker, tmp_path):
    """The ledger after it moved to another file."""
    move_to(full, f"sqlite:///{tmp_path / 'copy.db'}", maker.stamp(50))
    return full


def test_the_old_book_says_where_it_went_and_takes_no_entries(moved, maker, tmp_path):
    """Or two books would be kept, each short of the other's entries."""
    with moved.read() as r:
        assert r.moved() == f"moved to {tmp_path / 'copy.db'}"
        assert audit(r).problems == ()
        before = r.head()
    with pytest.raises(RuleBroken, match=r"moved to .*copy\.db"), moved.write() as w:
        w.weigh(maker.stamp(51), "DRF1", 3, 290_000)
    with moved.read() as r:
        assert r.head() == before


def test_the_new_book_takes_entries(moved, maker, tmp_path):
    """It has all but the line that says where the old one went."""
    with open_ledger(f"sqlite:///{tmp_path / 'copy.db'}") as copy:
        with copy.read() as new, moved.read() as old:
            assert new.head()[0] == old.head()[0] - 1
            assert new.moved() is None
        with copy.write() as w:
            w.weigh(maker.stamp(51), "DRF1", 3, 290_000)


def test_a_book_that_moved_is_opened_again_by_undoing_the_move(moved, maker):
    """Such as when the copy was lost: it is a correction like any other."""
    with moved.write() as w:
        w.undo(maker.stamp(51), w.head_id, "the copy's disk died")
    with moved.write() as w:
        w.weigh(maker.stamp(52), "DRF1", 3, 290_000)
    with moved.read() as r:
        assert r.moved() is None


def test_a_book_that_moved_does_not_move_again(moved, maker, tmp_path):
    """The copy would be of an old state."""
    with pytest.raises(RuleBroken, match=r"moved to .*copy\.db"):
        move_to(moved, f"sqlite:///{tmp_path / 'other.db'}", maker.stamp(51))
    assert not (tmp_path / "other.db").exists()


def test_a_move_that_fails_leaves_the_book_open(full, maker, tmp_path):
    """Nothing was moved, so nothing is closed."""
    with pytest.raises(StoreError):
        move_to(full, f"sqlite:///{tmp_path / 'none' / 'copy.db'}", maker.stamp(50))
    with full.read() as r:
        assert r.moved() is None
