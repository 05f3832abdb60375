"""Speed of the ledger against named baselines in the same run; prints ratios, asserts nothing.

    python tests/bench/ledger_speed.py [--sizes 14,1000,10000] [--folder DIR]

Baselines: the same lookup in the smallest shop (`scan` growth, wanted at most 1.2); raw SQL by
sqlite3 that reads the same rows (`curing` and `ready` read `batches(in_stock=True)`; `stock`;
`trace`; wanted at most 3); `import typer` and `import typer, sqlmodel` in a fresh interpreter
(cold start of `--help` and of `curing` on the demo shop, wanted at most 1.3).
"""

from __future__ import annotations

import argparse
import os
import sqlite3
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from soapstock.ledger import Ledger, open_ledger
from soapstock.ledger.trace import trace

sys.path.insert(0, str(Path(__file__).parents[2]))
from tests.bench.ledger_made_shop import code_of, make_shop

ROUNDS = 7
FACTS = (
    "SELECT p.*, e.happened_on, e.by, e.note, l.code FROM pour p JOIN entry e ON e.id = p.entry_id "
    "JOIN lot l ON l.id = p.entry_id WHERE p.entry_id IN ({0}) AND NOT EXISTS "
    "(SELECT 1 FROM entry u WHERE u.undoes = e.id)",
    "SELECT u.*, l.code FROM use_line u LEFT JOIN lot l ON l.id = u.lot_id "
    "WHERE u.entry_id IN ({0})",
    *(
        f"SELECT f.*, e.happened_on, e.by, e.note FROM {table} f JOIN entry e ON e.id = f.entry_id "
        f"WHERE f.lot_id IN ({{0}}) {more} AND NOT EXISTS "
        "(SELECT 1 FROM entry u WHERE u.undoes = e.id)"
        for table, more in (
            ("unmould", ""), ("weigh_in", ""), ("test_result", ""), ("decision", ""),
            ("movement", "AND f.to_place = 'customer'"),
        )
    ),
    "SELECT lot_id, place, sum(quantity) FROM posting WHERE unit = 'bars' AND lot_id IN ({0}) "
    "GROUP BY 1, 2",
    "SELECT * FROM recipe_version",
)  # fmt: skip
IN_STOCK = (
    "SELECT lot_id FROM posting WHERE place NOT IN ('customer', 'waste', 'retained', 'pot', "
    "'count-difference', 'supplier') AND lot_id IN (SELECT id FROM lot WHERE kind = 'batch') "
    "GROUP BY lot_id, unit HAVING sum(quantity) > 0"
)
STOCK = (
    "SELECT lot_id, unit, place, sum(quantity) FROM posting WHERE place NOT IN ('pot', "
    "'count-difference', 'supplier', 'customer', 'waste') GROUP BY 1, 2, 3 "
    "HAVING sum(quantity) <> 0",
    "SELECT * FROM lot",
)
FORWARD = (
    "WITH RECURSIVE made(id) AS (SELECT id FROM lot WHERE code = ? UNION SELECT u.entry_id "
    "FROM use_line u JOIN made ON u.lot_id = made.id) "
)
TRACE = (  # the rows a trace reads: uses, lots with their receipts, and shipments
    FORWARD + "SELECT u.*, e.happened_on FROM use_line u JOIN entry e ON e.id = u.entry_id "
    "WHERE u.lot_id IN (SELECT id FROM made)",
    FORWARD + "SELECT l.*, e.happened_on, r.supplier, r.supplier_lot, r.animal FROM lot l "
    "JOIN entry e ON e.id = l.id LEFT JOIN receipt r ON r.entry_id = l.id "
    "WHERE l.id IN (SELECT id FROM made)",
    FORWARD + "SELECT m.*, e.happened_on, e.by, e.note, l.code FROM movement m "
    "JOIN entry e ON e.id = m.entry_id JOIN lot l ON l.id = m.lot_id "
    "WHERE m.lot_id IN (SELECT id FROM made) AND m.to_place = 'customer' "
    "AND NOT EXISTS (SELECT 1 FROM entry u WHERE u.undoes = e.id)",
)


def best(work: Callable[[], object], rounds: int = ROUNDS) -> float:
    """The least time of several rounds, s."""
    times = []
    for _ in range(rounds):
        begun = time.perf_counter()
        work()
        times.append(time.perf_counter() - begun)
    return min(times)


def say(what: str, seconds: float, baseline: float, wanted: float, named: str) -> None:
    """One line of the report."""
    ratio = seconds / baseline
    mark = "" if ratio <= wanted else "  OVER"
    sys.stdout.write(
        f"{what:34} {seconds * 1e3:9.1f} ms   {ratio:5.2f} x {named} (wanted {wanted}){mark}\n"
    )


def scan(ledger: Ledger) -> None:
    """What `soapstock scan` reads of a lot."""
    with ledger.read() as r:
        r.lot_kind(code_of(7))
        r.batch(code_of(7))
        r.entries(code_of(7))


def in_stock(ledger: Ledger) -> None:
    """What `curing` and `ready` read."""
    with ledger.read() as r:
        r.batches(in_stock=True)


def raw_in_stock(raw: sqlite3.Connection) -> None:
    """The same rows by plain SQL."""
    ids = ",".join(str(row[0]) for row in raw.execute(IN_STOCK))
    for sql in FACTS:
        raw.execute(sql.format(ids)).fetchall()


def scan_growth(shops: dict[int, Path]) -> None:
    """The same lookup in shops of all sizes, by turns, so that a busy machine slows all alike."""
    ledgers = {size: open_ledger(f"sqlite:///{path}") for size, path in shops.items()}
    times: dict[int, list[float]] = {size: [] for size in ledgers}
    for _ in range(40):
        for size, ledger in ledgers.items():
            begun = time.perf_counter()
            scan(ledger)
            times[size].append(time.perf_counter() - begun)
    least = min(times[min(times)])
    for size, ledger in ledgers.items():
        say(f"scan, {size} batches", min(times[size]), least, 1.2, "scan of the smallest")
        ledger.close()


def one_size(path: Path, size: int) -> None:
    """Measure a shop's listings."""
    with open_ledger(f"sqlite:///{path}") as ledger:
        raw = sqlite3.connect(path)
        raw.execute("PRAGMA cache_size = -65536")
        listed = best(lambda: in_stock(ledger))
        say(f"curing and ready read, {size}", listed, best(lambda: raw_in_stock(raw)), 3, "raw SQL")

        def stock() -> None:
            with ledger.read() as r:
                r.stock()

        plain = best(lambda: [raw.execute(sql).fetchall() for sql in STOCK])
        say(f"stock, {size}", best(stock), plain, 3, "raw SQL")
        oil = raw.execute("SELECT code FROM lot WHERE kind = 'ingredient' LIMIT 1").fetchone()[0]

        def walk() -> None:
            with ledger.read() as r:
                trace(r.db, oil)

        plain = best(lambda: [raw.execute(sql, (oil,)).fetchall() for sql in TRACE])
        say(f"trace, {size}", best(walk), plain, 3, "raw SQL")
        raw.close()


def process(*command: str) -> float:
    """The least time of fresh interpreters, s."""
    env = {**os.environ, "PYTHONDONTWRITEBYTECODE": ""}

    def run() -> None:
        subprocess.run([sys.executable, *command], check=True, capture_output=True, env=env)

    run()
    return best(run)


def cold_start(folder: Path) -> None:
    """Fresh interpreters against the bare imports."""
    shop = folder / "demo"
    if not shop.exists():
        process_once = [sys.executable, "-m", "soapstock", "demo", str(shop)]
        subprocess.run(process_once, check=True, capture_output=True)
    typer = process("-c", "import typer")
    say("--help", process("-m", "soapstock", "--help"), typer, 1.3, "import typer")
    both = process("-c", "import typer, sqlmodel")
    curing = process("-m", "soapstock", "--shop", str(shop), "--today", "2026-11-20", "curing")
    say("curing, 14 batches", curing, both, 1.3, "import typer, sqlmodel")
    ledger = process("-c", "import typer, soapstock.ledger.reader")
    say("import of the ledger's reader", ledger, both, 1.3, "import typer, sqlmodel")


def main() -> None:
    """Build the made shops once and measure."""
    parser = argparse.ArgumentParser(description="Speed of the ledger.")
    parser.add_argument("--sizes", default="14,1000,10000")
    parser.add_argument(
        "--folder", type=Path, default=Path(tempfile.gettempdir()) / "soapstock-bench"
    )
    given = parser.parse_args()
    given.folder.mkdir(exist_ok=True)
    shops = {}
    for size in (int(text) for text in given.sizes.split(",")):
        path = given.folder / f"{size}.db"
        if not path.exists():
            part = path.with_suffix(".part")
            part.unlink(missing_ok=True)
            make_shop(part, size)
            part.rename(path)
        shops[size] = path
    scan_growth(shops)
    for size, path in shops.items():
        one_size(path, size)
    cold_start(given.folder)


if __name__ == "__main__":
    main()
