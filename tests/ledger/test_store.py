"""Opening and closing, saving whole or not at all."""

import subprocess
import sys

import pytest

from soapstock.cli.frame.mends import help_of
from soapstock.errors import StoreError
from soapstock.ledger.keep.migrate import create
from soapstock.ledger.store import open_ledger


def test_what_is_entered_is_saved_at_the_end(url, maker):
    """Another opening of the same ledger sees it."""
    with open_ledger(url) as one, one.write() as w:
        maker.receive(w)
    with open_ledger(url) as other, other.read() as r:
        assert r.all_lot_codes() == ["TAL1"]


def test_an_error_takes_everything_back(url, maker):
    """Nothing of a failed transaction is seen afterwards."""

    def failing() -> None:
        with open_ledger(url) as one, one.write() as w:
            maker.receive(w)
            raise RuntimeError

    with pytest.raises(RuntimeError):
        failing()
    with open_ledger(url) as other, other.read() as r:
        assert r.entries() == []


def test_a_reader_sees_one_moment(url, maker):
    """What is written while a reader reads is not in its snapshot."""
    with open_ledger(url) as one, open_ledger(url) as other:
        with one.read() as r:
            assert r.all_lot_codes() == []
            with other.write() as w:
                maker.receive(w)
            assert r.all_lot_codes() == []
        with one.read() as r:
            assert r.all_lot_codes() == ["TAL1"]


def test_missing_ledger_is_told_plainly(tmp_path):
    """No file is made by looking for one."""
    with pytest.raises(StoreError, match="no ledger at") as caught:
        open_ledger(f"sqlite:///{tmp_path / 'none.db'}")
    assert "soapstock start" in help_of(caught.value)
    assert list(tmp_path.iterdir()) == []


def test_create_never_overwrites(url):
    """A ledger that is there stays."""
    with pytest.raises(StoreError, match="already"):
        create(url)


def test_create_leaves_only_the_ledger(tmp_path):
    """No temporary folder or half-made file stays behind."""
    create(f"sqlite:///{tmp_path / 'ledger.db'}")
    assert [p.name for p in tmp_path.iterdir()] == ["ledger.db"]


def test_opening_an_up_to_date_ledger_needs_no_alembic(sqlite_url):
    """Every command pays for what it imports; migrations are only for those who migrate."""
    code = (
        "import sys; from soapstock.ledger.store import open_ledger; "
        f"open_ledger({sqlite_url!r}); "
        "sys.exit(any(m.split('.')[0] in ('alembic', 'numpy', 'psycopg') for m in sys.modules))"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False, timeout=60).returncode == 0
