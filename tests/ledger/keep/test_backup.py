"""Backups are whole or refused, and restoring never loses the newer ledger."""

import os
import shutil
import sqlite3
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from soapstock.errors import NotFound, RuleBroken, StoreError
from soapstock.ledger.base import engine, schema
from soapstock.ledger.keep import backup as backup_module
from soapstock.ledger.keep.audit import audit
from soapstock.ledger.keep.backup import backup, backups, restore, verify
from soapstock.ledger.keep.migrate import create
from soapstock.ledger.store import open_ledger
from tests.ledger.next_schema import migrations

NOW = datetime(2026, 11, 25, 9, 30, tzinfo=UTC)
RELEASED = sorted((Path(__file__).parents[1] / "released").glob("*.sql"))


@pytest.fixture
def shop(url, maker):
    """A ledger with released bars, on each database."""
    with open_ledger(url) as ledger:
        with ledger.write() as w:
            maker.released(w)
        yield ledger


@pytest.fixture
def local(sqlite_url, maker):
    """The same, on SQLite only."""
    with open_ledger(sqlite_url) as ledger:
        with ledger.write() as w:
            maker.released(w)
        yield ledger


def test_backup_holds_every_entry(shop, tmp_path):
    """It is a ledger of its own, with the same head."""
    made = backup(shop, tmp_path / "backups", now=NOW)
    assert made.path.name == "ledger-20261125T093000Z-000005.db"
    with open_ledger(f"sqlite:///{made.path}") as copy, copy.read() as two, shop.read() as one:
        assert two.head() == one.head() == (made.entries, made.head_hash)


def test_backup_leaves_no_other_file(shop, tmp_path):
    """No temporary folder, no WAL beside it."""
    made = backup(shop, tmp_path / "backups", now=NOW)
    assert list((tmp_path / "backups").iterdir()) == [made.path]


def test_backup_while_another_writes_has_only_what_was_saved(local, tmp_path, maker):
    """An open transaction is not in it."""
    with open_ledger(local.url) as other, other.write() as w:
        w.weigh(maker.stamp(41), "DRF1", 3, 290_000)
        made = backup(local, tmp_path / "backups", now=NOW)
    assert made.entries == 5


def test_only_the_newest_are_kept(local, tmp_path):
    """Older ones go, by name; other files stay."""
    folder = tmp_path / "backups"
    folder.mkdir()
    (folder / "notes.txt").write_text("mine")
    for minute in range(4):
        made = backup(local, folder, now=NOW + timedelta(minutes=minute), keep=2)
    assert [p.name[7:23] for p in backups(folder)] == ["20261125T093300Z", "20261125T093200Z"]
    assert len(made.removed) == 1
    assert (folder / "notes.txt").exists()


def test_damaged_backup_is_refused(local, tmp_path):
    """A flipped byte in a fact is found by the chain, a torn file by SQLite."""
    made = backup(local, tmp_path / "backups", now=NOW)
    whole = made.path.read_bytes()
    made.path.write_bytes(whole.replace(b"no zap, dry", b"no zap, wet"))
    with pytest.raises(StoreError, match="not whole: entry 5 was changed, or its facts were"):
        verify(made.path)
    made.path.write_bytes(whole[: len(whole) // 2])
    with pytest.raises(StoreError):
        verify(made.path)


def test_restore_brings_back_what_was_lost(local, tmp_path):
    """Where no ledger is, the backup becomes it."""
    made = backup(local, tmp_path / "backups", now=NOW)
    target = f"sqlite:///{tmp_path / 'new.db'}"
    restore(made.path, target, now=NOW)
    with open_ledger(target) as again, again.read() as r:
        assert r.batch("DRF1").places["rack"] == 10
        assert audit(r).problems == ()


@pytest.mark.postgres
def test_restore_to_a_bare_server_database(shop, tmp_path, new_pg_url):
    """A backup of either database can become a PostgreSQL ledger."""
    made = backup(shop, tmp_path / "backups", now=NOW)
    target = new_pg_url()
    restore(made.path, target, now=NOW)
    with open_ledger(target) as again, again.read() as r:
        assert r.head() == (made.entries, made.head_hash)


def test_restore_over_a_newer_ledger_is_refused(local, tmp_path, maker):
    """Entries made since would be lost."""
    made = backup(local, tmp_path / "backups", now=NOW)
    with local.write() as w:
        w.weigh(maker.stamp(41), "DRF1", 3, 290_000)
    with pytest.raises(RuleBroken, match="has entries the backup lacks"):
        restore(made.path, local.url, now=NOW)
    with local.read() as r:
        assert r.head()[0] == 6


def test_restore_with_force_keeps_the_newer_ledger_aside(local, tmp_path, maker):
    """What was there is backed up first."""
    made = backup(local, tmp_path / "backups", now=NOW)
    with local.write() as w:
        w.weigh(maker.stamp(41), "DRF1", 3, 290_000)
    restore(made.path, local.url, now=NOW, force=True)
    with local.read() as r:
        assert r.head()[0] == 5
    (aside,) = backups(tmp_path / "before-restore")
    assert verify(aside)[0] == 6


def test_restore_over_an_older_state_of_the_same_ledger_needs_no_force(local, tmp_path, maker):
    """Nothing is lost by it."""
    early = backup(local, tmp_path / "backups", now=NOW)
    with local.write() as w:
        w.weigh(maker.stamp(41), "DRF1", 3, 290_000)
    late = backup(local, tmp_path / "backups", now=NOW + timedelta(hours=1))
    restore(early.path, local.url, now=NOW, force=True)
    restore(late.path, local.url, now=NOW + timedelta(hours=2))
    with local.read() as r:
        assert r.head()[0] == 6


def test_restore_over_a_damaged_ledger_needs_force_and_keeps_the_file(local, tmp_path):
    """It cannot be told whether it is newer."""
    made = backup(local, tmp_path / "backups", now=NOW)
    local.close()
    path = tmp_path / "ledger.db"
    path.write_bytes(b"ruined" * 2000)
    with pytest.raises(StoreError, match="cannot be compared"):
        restore(made.path, local.url, now=NOW)
    restore(made.path, local.url, now=NOW, force=True)
    assert (tmp_path / "ledger.db.unreadable-20261125T093000Z").exists()
    with open_ledger(local.url) as again, again.read() as r:
        assert audit(r).problems == ()


def test_missing_backup_is_not_found(local, tmp_path):
    """And the ledger stays."""
    with pytest.raises(NotFound, match="no backup at"):
        restore(tmp_path / "none.db", local.url, now=NOW)


@pytest.mark.parametrize("dump", RELEASED, ids=lambda p: p.stem)
def test_a_backup_of_an_older_schema_is_restored_at_todays(dump, tmp_path, monkeypatch):
    """Such as the one made before a migration; the file itself stays as it is."""
    monkeypatch.setattr(schema, "MIGRATIONS", migrations(tmp_path))
    old = tmp_path / "before-schema.db"
    connection = sqlite3.connect(old)
    connection.executescript(dump.read_text(encoding="utf-8"))
    connection.close()
    kept = old.read_bytes()
    url = f"sqlite:///{tmp_path / 'ledger.db'}"
    done = restore(old, url, now=NOW)
    with open_ledger(url) as ledger, ledger.read() as r:
        assert r.head() == (done.entries, done.head_hash)
        assert audit(r).problems == ()
    assert old.read_bytes() == kept


def test_restore_over_a_damaged_ledger_leaves_no_log_of_the_old_one(local, tmp_path):
    """A write-ahead log left beside a new file would be taken for its own; it is kept aside."""
    made = backup(local, tmp_path / "backups", now=NOW)
    local.close()
    (tmp_path / "ledger.db").write_bytes(b"ruined" * 2000)
    (tmp_path / "ledger.db-wal").write_bytes(b"old log")
    restore(made.path, local.url, now=NOW, force=True)
    aside = tmp_path / "ledger.db.unreadable-20261125T093000Z-wal"
    assert aside.read_bytes() == b"old log"
    with open_ledger(local.url) as again, again.read() as r:
        assert audit(r).problems == ()


def test_a_backup_that_is_no_ledger_is_named(local, tmp_path):
    """By its own name, not that of a working copy."""
    other = tmp_path / "other.db"
    sqlite3.connect(other).execute("CREATE TABLE t (x)")
    with pytest.raises(StoreError, match=r"^other\.db is not a ledger"):
        restore(other, local.url, now=NOW)


def test_a_file_that_is_no_database_is_named(local, tmp_path):
    """Whatever the maker gave by mistake."""
    other = tmp_path / "shop.toml"
    other.write_text("maker = 'x'\n" * 500, encoding="utf-8")
    with pytest.raises(StoreError, match=r"^shop\.toml: the file is not a ledger"):
        restore(other, local.url, now=NOW)


def test_a_busy_ledger_is_never_restored_over(local, tmp_path, monkeypatch):
    """Not even with force: whoever holds it is still writing to it."""
    made = backup(local, tmp_path / "backups", now=NOW)
    monkeypatch.setattr(engine, "BUSY_SECONDS", 0.1)
    local.close()
    holder = sqlite3.connect(tmp_path / "ledger.db", isolation_level=None)
    holder.execute("PRAGMA locking_mode = EXCLUSIVE")
    holder.execute("BEGIN EXCLUSIVE")
    with pytest.raises(StoreError, match="busy"):
        restore(made.path, local.url, now=NOW, force=True)
    holder.close()
    with open_ledger(local.url) as again, again.read() as r:
        assert audit(r).problems == ()


def test_a_ledger_whose_chain_is_broken_is_kept_and_replaced_in_place(local, tmp_path):
    """Others may have the file open, so its pages are copied over, not its name."""
    made = backup(local, tmp_path / "backups", now=NOW)
    raw = sqlite3.connect(tmp_path / "ledger.db")
    raw.execute("DROP TRIGGER entry_no_update")
    raw.execute("UPDATE entry SET note = 'forged' WHERE id = 2")
    raw.commit()
    raw.close()
    inode = (tmp_path / "ledger.db").stat().st_ino
    with pytest.raises(StoreError, match="cannot be compared"):
        restore(made.path, local.url, now=NOW)
    done = restore(made.path, local.url, now=NOW, force=True)
    assert (tmp_path / "ledger.db").stat().st_ino == inode
    kept = sqlite3.connect(done.before)
    assert kept.execute("SELECT note FROM entry WHERE id = 2").fetchone() == ("forged",)
    kept.close()
    with local.read() as r:
        assert audit(r).problems == ()


@pytest.mark.parametrize("force", [False, True])
def test_a_restore_without_room_for_the_old_ledger_changes_nothing(local, tmp_path, force):
    """The ledger that would be replaced cannot be kept, so it is not replaced."""
    made = backup(local, tmp_path / "backups", now=NOW)
    (tmp_path / "before-restore").write_text("a file in the way", encoding="utf-8")
    before = (tmp_path / "ledger.db").read_bytes()
    with pytest.raises(StoreError, match="cannot write the backup"):
        restore(made.path, local.url, now=NOW, force=force)
    assert (tmp_path / "ledger.db").read_bytes() == before


def test_a_backup_of_the_future_is_not_kept_in_place_of_the_one_just_made(local, tmp_path, maker):
    """The clock was once wrong; a name's date decides nothing."""
    folder = tmp_path / "backups"
    backup(local, folder, now=NOW.replace(year=2099))
    with local.write() as w:
        w.weigh(maker.stamp(41), "DRF1", 3, 290_000)
    made = backup(local, folder, now=NOW, keep=1)
    assert backups(folder) == [made.path]
    assert verify(made.path)[0] == 6


def test_the_one_just_made_stays_though_another_is_further_on(local, tmp_path, maker):
    """After a restore of an older state the newer backups are not of this chain: they stay."""
    folder = tmp_path / "backups"
    early = backup(local, folder, now=NOW)
    with local.write() as w:
        w.weigh(maker.stamp(41), "DRF1", 3, 290_000)
    late = backup(local, folder, now=NOW + timedelta(hours=1))
    restore(early.path, local.url, now=NOW, force=True)
    made = backup(local, folder, now=NOW + timedelta(hours=2), keep=1)
    assert set(backups(folder)) == {made.path, late.path}


def test_another_shops_backups_are_never_removed(local, tmp_path, maker):
    """Two shops may share one folder."""
    folder, other = tmp_path / "backups", f"sqlite:///{tmp_path / 'other.db'}"
    create(other)
    with open_ledger(other) as theirs:
        with theirs.write() as w:
            maker.receive(w, "OTHER1")
        kept = [backup(theirs, folder, now=NOW + timedelta(minutes=m)).path for m in range(3)]
    made = backup(local, folder, now=NOW + timedelta(hours=1), keep=1)
    assert set(backups(folder)) == {*kept, made.path}
    assert made.removed == ()


def test_a_log_beside_a_copied_ledger_is_read_with_it(local, tmp_path, maker):
    """What was acknowledged last stands in the log until it is folded in."""
    copied = tmp_path / "copied"
    copied.mkdir()
    with local.write() as w:
        w.weigh(maker.stamp(41), "DRF1", 3, 290_000)
    for end in ("", "-wal"):
        shutil.copy(tmp_path / f"ledger.db{end}", copied / f"ledger.db{end}")
    assert (copied / "ledger.db-wal").stat().st_size
    url = f"sqlite:///{tmp_path / 'anew.db'}"
    assert restore(copied / "ledger.db", url, now=NOW).entries == 6


@pytest.mark.parametrize("end", ["-wal", "-shm", "-journal"])
def test_no_ledger_is_made_beside_the_log_of_another(local, tmp_path, end):
    """It would be taken for the new one's own, and ruin it."""
    made = backup(local, tmp_path / "backups", now=NOW)
    log = tmp_path / f"anew.db{end}"
    log.write_bytes(b"old log")
    url = f"sqlite:///{tmp_path / 'anew.db'}"
    with pytest.raises(StoreError, match=f"anew.db{end} lies there"):
        restore(made.path, url, now=NOW)
    with pytest.raises(StoreError, match=f"anew.db{end} lies there"):
        create(url)
    assert log.read_bytes() == b"old log"
    assert not (tmp_path / "anew.db").exists()


@pytest.mark.parametrize("force", [False, True])
def test_what_is_entered_while_a_backup_is_restored_is_not_lost(
    local, tmp_path, maker, monkeypatch, force
):
    """It came after the copy for safety: without force it is refused, with force kept aside."""
    made = backup(local, tmp_path / "backups", now=NOW)
    real, entered = backup_module._overwrite, []

    def late(*args):
        if not entered:
            entered.append(1)
            with local.write() as w:
                w.weigh(maker.stamp(41), "DRF1", 3, 290_000)
        return real(*args)

    monkeypatch.setattr(backup_module, "_overwrite", late)
    if not force:
        with pytest.raises(RuleBroken, match="has entries the backup lacks"):
            restore(made.path, local.url, now=NOW)
        with local.read() as r:
            assert r.head()[0] == 6
        return
    done = restore(made.path, local.url, now=NOW, force=True)
    assert verify(done.before)[0] == 6


def test_a_huge_file_that_is_no_database_is_refused_unread(local, tmp_path):
    """Three gigabytes of nothing, of which a few bytes are looked at."""
    huge = tmp_path / "huge.db"
    huge.touch()
    os.truncate(huge, 3 * 10**9)
    with pytest.raises(StoreError, match=r"^huge\.db: the file is not a ledger"):
        restore(huge, local.url, now=NOW)


def test_a_backup_is_asked_about_before_it_fills_an_empty_ledger(local, tmp_path):
    """Nothing shows that it is of this shop, so what it holds is told."""
    made = backup(local, tmp_path / "backups", now=NOW)
    url = f"sqlite:///{tmp_path / 'new.db'}"
    create(url)
    with pytest.raises(RuleBroken, match=r"holds 5 entries, .* by Invented Maker: .*no zap, dry"):
        restore(made.path, url, now=NOW)
    assert restore(made.path, url, now=NOW, force=True).entries == 5


def test_whatever_holds_customers_is_for_its_owner_alone(shop, tmp_path):
    """Whatever the umask: a ledger, its log, its backups, and what a restore keeps."""
    kept = os.umask(0o022)
    try:
        made = backup(shop, tmp_path / "backups", now=NOW)
        url = f"sqlite:///{tmp_path / 'new.db'}"
        restore(made.path, url, now=NOW)
        with open_ledger(url) as ledger, ledger.write():
            logs = list(tmp_path.glob("new.db*"))
        aside = restore(made.path, url, now=NOW).before
    finally:
        os.umask(kept)
    assert len(logs) == 3
    for path in (made.path, tmp_path / "new.db", aside):
        assert path.stat().st_mode & 0o777 == 0o600, path
