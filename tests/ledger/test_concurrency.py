"""Eight writers at once: nothing oversold, nothing lost, nothing twice; on both databases.

PostgreSQL's serialisation, as soapstock uses it: a writer holds SHARE ROW EXCLUSIVE on `entry` from
its first statement to its commit (PostgreSQL 15 documentation, section 13.3.1, table of conflicting
lock modes: it conflicts with itself and with the ROW EXCLUSIVE of any INSERT, not with the ACCESS
SHARE of a SELECT); at READ COMMITTED each later statement sees what was committed before it began.
"""

import contextlib
import multiprocessing
import re
import threading
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, date, datetime

import pytest

from soapstock.errors import AlreadyEntered, RuleBroken
from soapstock.ledger.facts import Sale, Stamp
from soapstock.ledger.keep.audit import audit
from soapstock.ledger.store import open_ledger

WRITERS = 8


def _ship_five(url: str, who: str) -> int:
    """Ship one bar five times over, as a process of its own; how many went out."""
    sold = 0
    with open_ledger(url) as ledger:
        for number in range(5):
            stamp = Stamp(
                happened_on=date(2026, 10, 15),
                entered_at=datetime(2026, 10, 15, tzinfo=UTC),
                by=who,
                client_key=f"{who}-{number}",
                client_said="a" * 64,
            )
            with contextlib.suppress(RuleBroken), ledger.write() as w:
                w.ship(stamp, "DRF1", 1, "rack", who, f"{who}-{number}")
                sold += 1
    return sold


def _in_threads(work):
    with ThreadPoolExecutor(WRITERS) as pool:
        return list(pool.map(work, range(WRITERS)))


def test_eight_processes_never_oversell_a_lot(url, maker):
    """Forty wishes for twenty bars: exactly twenty are shipped, to whom they say."""
    with open_ledger(url) as ledger, ledger.write() as w:
        maker.released(w, bars=20)
    with multiprocessing.get_context("fork").Pool(WRITERS) as pool:
        names = [f"shop-{n}" for n in range(WRITERS)]
        shipping = pool.starmap_async(_ship_five, [(url, name) for name in names], 1)
        sold = dict(zip(names, shipping.get(timeout=120), strict=True))
    with open_ledger(url) as ledger, ledger.read() as r:
        shipped = Counter(s.customer for s in r.shipments())
        assert audit(r).problems == ()
        assert r.batch("DRF1").places == {"customer": 20, "waste": 1}
    assert sum(sold.values()) == 20
    assert shipped == {who: bars for who, bars in sold.items() if bars}


def test_the_same_form_sent_by_eight_at_once_counts_once(url, maker):
    """One enters it; the others are told which entry that was."""
    with open_ledger(url) as ledger, ledger.write() as w:
        maker.released(w)
    stamp = maker.stamp(40, client_key="form-1", client_said="a" * 64)

    def send(_):
        try:
            with open_ledger(url) as mine, mine.write() as w:
                return f"entry {w.ship(stamp, 'DRF1', 3, 'rack', 'Invented Shop')}"
        except AlreadyEntered as known:
            return next(iter(re.findall(r"entry \d+", known.message)))

    assert len(set(_in_threads(send))) == 1
    with open_ledger(url) as ledger, ledger.read() as r:
        assert r.batch("DRF1").places["customer"] == 3


def test_no_entry_is_lost_or_doubled(url, maker):
    """Every acknowledged weigh-in is there once, ids without gaps, the chain whole."""
    with open_ledger(url) as ledger, ledger.write() as w:
        maker.bars(w)
        before = w.head_id

    def weigh(who):
        ids = []
        with open_ledger(url) as mine:
            for number in range(10):
                with mine.write() as w:
                    ids.append(w.weigh(maker.stamp(9), "DRF1", 10, 1_000_000 + 100 * who + number))
        return ids

    acknowledged = sorted(i for ids in _in_threads(weigh) for i in ids)
    assert acknowledged == list(range(before + 1, before + 81))
    with open_ledger(url) as ledger, ledger.read() as r:
        masses = [x.mass_mg for x in r.batch("DRF1").weigh_ins]
        assert audit(r).problems == ()
    assert sorted(masses) == sorted(1_000_000 + 100 * a + b for a in range(8) for b in range(10))


def test_a_second_writer_waits_and_then_sees_what_the_first_did(url, maker):
    """Its stock check cannot be overtaken: the last bar is sold once."""
    with open_ledger(url) as ledger, ledger.write() as w:
        maker.released(w, bars=1)
    started, outcome = threading.Event(), []

    def second():
        with open_ledger(url) as mine:
            started.set()
            try:
                with mine.write() as w:
                    w.ship(maker.stamp(40), "DRF1", 1, "rack", "Second Shop")
            except RuleBroken as err:
                outcome.append(err.message)

    with open_ledger(url) as ledger:
        with ledger.write() as w:
            other = threading.Thread(target=second, daemon=True)
            other.start()
            assert started.wait(10)
            w.ship(maker.stamp(40), "DRF1", 1, "rack", "First Shop")
        other.join(60)
    assert outcome == ["DRF1 has 0 bars at rack; cannot take 1 bar"]


@pytest.mark.postgres
def test_postgresql_makes_other_programs_wait_too(url, maker):
    """A plain INSERT of another program waits for our writer; a SELECT does not."""
    if url.startswith("sqlite"):
        pytest.skip("SQLite has one writer by nature")
    import psycopg

    with open_ledger(url) as ledger, ledger.write() as w, psycopg.connect(url) as other:
        maker.receive(w)
        assert other.execute("SELECT count(*) FROM entry").fetchone() == (0,)
        other.execute("SET lock_timeout = 50")
        with pytest.raises(psycopg.errors.LockNotAvailable):
            other.execute("INSERT INTO entry SELECT * FROM entry")


@pytest.mark.postgres
def test_postgresql_readers_have_one_read_only_snapshot(url):
    """REPEATABLE READ, READ ONLY."""
    if url.startswith("sqlite"):
        pytest.skip("SQLite snapshots are tested with the store")
    with open_ledger(url) as ledger, ledger.read() as r:
        shown = [
            r.db.exec_driver_sql(f"SHOW {name}").scalar()
            for name in ("transaction_isolation", "transaction_read_only")
        ]
    assert shown == ["repeatable read", "on"]


def _invoice_five(url: str, who: str) -> list[int]:
    """Sell a bar and invoice it, five times over, as a process of its own; the numbers given."""
    numbers = []
    with open_ledger(url) as ledger:
        for _ in range(5):
            stamp = Stamp(
                happened_on=date(2026, 10, 15),
                entered_at=datetime(2026, 10, 15, tzinfo=UTC),
                by=who,
            )
            with ledger.write() as w:
                sale = Sale(buyer="direct", price_cents=750, currency="USD")
                sold = w.ship(stamp, "DRF1", 1, "rack", who, sale=sale)
            with contextlib.suppress(ZeroDivisionError), ledger.write() as w:
                w.invoice(stamp, [sold], {})
                raise ZeroDivisionError  # a crash after the number was taken: it is free again
            with ledger.write() as w:
                entry = w.invoice(stamp, [sold], {})
            with ledger.read() as r:
                numbers += [one.number for one in r.invoices() if one.entry_id == entry]
    return numbers


def test_eight_writers_number_their_invoices_without_a_gap(url, maker):
    """Forty invoices are 1 to 40, each number once, though as many were begun and given up."""
    with open_ledger(url) as ledger, ledger.write() as w:
        maker.released(w, bars=40)
    with multiprocessing.get_context("fork").Pool(WRITERS) as pool:
        names = [f"shop-{n}" for n in range(WRITERS)]
        given = pool.starmap(_invoice_five, [(url, n) for n in names], 1)
    assert sorted(number for some in given for number in some) == list(range(1, 41))
    with open_ledger(url) as ledger, ledger.read() as r:
        assert [one.number for one in r.invoices()] == list(range(1, 41))
        assert audit(r).problems == ()
