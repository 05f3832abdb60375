"""Speed of the ledger against named baselines in the same run; prints ratios, asserts nothing.

Each measure and its baseline run by turns, so that a busy machine slows both alike; the ratio is of
the medians, of the processor's time (user and system) and of the clock's.

    python tests/bench/ledger_speed.py [--sizes 14,1000,10000] [--folder DIR]

Baselines: the same lot looked up in the smallest shop (`scan` growth, wanted at most 1.2; up to 48
batches teach a forecast, so the view of a lot grows until a shop has as many); raw SQL by sqlite3
that reads the same rows (`curing` and `ready` read `batches(in_stock=True)`; `stock`; `trace`; the
whole of `season`, reckoned over all its days; wanted at most 3); `import typer` and `import typer,
sqlmodel` in a fresh interpreter (cold start of `--help` and of `curing` on the demo shop, wanted at
most 1.3).
"""

from __future__ import annotations

import argparse
import resource
import sqlite3
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import UTC, date, datetime
from pathlib import Path
from statistics import median

from soapstock.cure.gates import read_gates
from soapstock.cure.model import kept
from soapstock.desk.desk import open_desk
from soapstock.ledger.base.schema import newest
from soapstock.ledger.store import Ledger, open_ledger
from soapstock.shop import Shop, shop_text
from soapstock.views.batch import view
from soapstock.views.season import season

sys.path.insert(0, str(Path(__file__).parents[2]))
from tests.bench.ledger_made_shop import FIRST, code_of, make_shop

ROUNDS = {14: 61, 1000: 15, 10000: 7}
STARTS = 15
TODAY = date(2028, 1, 1)  # after everything in the made shops
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
            ("unmould", ""),
            ("weigh_in", ""),
            ("test_result", ""),
            ("decision", ""),
            ("movement", "AND f.to_place = 'customer'"),
        )
    ),
    "SELECT lot_id, place, sum(quantity) FROM posting WHERE unit = 'bars' AND lot_id IN ({0}) "
    "GROUP BY 1, 2",
    "SELECT * FROM recipe_version",
    # the ingredient lots that went in, and what is left of them
    "SELECT r.*, l.code, e.happened_on FROM receipt r JOIN lot l ON l.id = r.entry_id "
    "JOIN entry e ON e.id = r.entry_id WHERE r.entry_id IN (SELECT lot_id FROM use_line "
    "WHERE entry_id IN ({0})) AND NOT EXISTS (SELECT 1 FROM entry u WHERE u.undoes = e.id)",
    "SELECT lot_id, sum(quantity) FROM posting WHERE unit = 'mg' AND place NOT IN ('customer', "
    "'waste', 'retained', 'returned', 'mould', 'pot', 'count-difference', 'supplier') AND lot_id "
    "IN (SELECT lot_id FROM use_line WHERE entry_id IN ({0})) GROUP BY 1",
)
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

LIVE = (
    "e.happened_on <= '2028-01-01' AND e.undoes IS NULL "
    "AND NOT EXISTS (SELECT 1 FROM entry u WHERE u.undoes = e.id)"
)
SEASON = (  # the rows a season is reckoned from
    f"SELECT l.*, e.happened_on FROM lot l JOIN entry e ON e.id = l.id WHERE {LIVE}",
    f"SELECT r.* FROM receipt r JOIN entry e ON e.id = r.entry_id WHERE {LIVE}",
    "SELECT p.entry_id, p.lot_id, p.place, p.unit, p.quantity, e.happened_on FROM posting p "
    "JOIN entry e ON e.id = p.entry_id WHERE p.place IN ('pot', 'customer', 'given', 'waste', "
    f"'count-difference', 'retained') AND {LIVE} ORDER BY p.entry_id, p.line",
    f"SELECT s.*, e.happened_on FROM spent s JOIN entry e ON e.id = s.entry_id WHERE {LIVE}",
    "SELECT u.entry_id FROM use_line u JOIN receipt r ON r.entry_id = u.entry_id "
    f"JOIN entry e ON e.id = u.entry_id WHERE {LIVE}",
    "SELECT m.*, l.code, l.item, e.happened_on FROM movement m JOIN lot l ON l.id = m.lot_id "
    "JOIN entry e ON e.id = m.entry_id WHERE (m.to_place IN ('customer', 'given') "
    f"OR m.from_place = 'customer') AND {LIVE} ORDER BY m.entry_id",
    f"SELECT s.* FROM sale s JOIN entry e ON e.id = s.entry_id WHERE {LIVE}",
    "SELECT m.*, k.kind, e.happened_on FROM movement m JOIN lot l ON l.id = m.lot_id "
    "JOIN entry e ON e.id = m.entry_id JOIN place k ON k.name = m.from_place "
    f"WHERE m.to_place = 'waste' AND l.kind = 'batch' AND {LIVE}",
    "SELECT d.lot_id, e.happened_on FROM decision d JOIN entry e ON e.id = d.entry_id "
    f"WHERE d.decision = 'release' AND {LIVE}",
)


Took = tuple[float, float]  # s of the processor, s of the clock


def timed(work: Callable[[], object]) -> Took:
    """What some work in this process took that has learnt nothing of its batches before."""
    kept.cache_clear()
    read_gates.cache_clear()
    cpu, clock = time.process_time(), time.perf_counter()
    work()
    return time.process_time() - cpu, time.perf_counter() - clock


def started(*command: str) -> Took:
    """What a fresh interpreter took."""
    before, clock = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter()
    subprocess.run([sys.executable, *command], check=True, capture_output=True)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    cpu = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    return cpu, time.perf_counter() - clock


def by_turns(rounds: int, *works: Callable[[], Took]) -> list[Took]:
    """The medians of works done by turns, after one turn that does not count."""
    turns = [[work() for work in works] for _ in range(rounds + 1)][1:]
    return [
        (median(turn[i][0] for turn in turns), median(turn[i][1] for turn in turns))
        for i in range(len(works))
    ]


def say(what: str, took: Took, baseline: Took, wanted: float, named: str) -> None:
    """One line of the report."""
    cpu, clock = took[0] / baseline[0], took[1] / baseline[1]
    mark = "" if cpu <= wanted else "  OVER"
    sys.stdout.write(
        f"{what:30} {took[0] * 1e3:8.1f} ms   {cpu:5.2f} x {named} "
        f"(wanted {wanted}; by the clock {clock:.2f}){mark}\n"
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
    """The same lot looked up in shops of all sizes: the reading, the view of it, the command."""
    desks = [
        open_desk(folder, today=TODAY, now=datetime.now(UTC), by="bench")
        for folder in shops.values()
    ]
    opened = [desk.__enter__() for desk in desks]
    first = code_of(7)
    reads = by_turns(61, *(lambda d=d: timed(lambda: scan(d.ledger)) for d in opened))
    views = by_turns(31, *(lambda d=d: timed(lambda: view(d, first)) for d in opened))
    for desk in desks:
        desk.__exit__(None, None, None)
    command = ("--today", TODAY.isoformat(), "scan", first)
    runs = by_turns(
        STARTS,
        *(
            lambda folder=folder: started("-m", "soapstock", "--shop", str(folder), *command)
            for folder in shops.values()
        ),
    )
    for what, took in (("scan reads", reads), ("scan with forecast", views), ("scan, whole", runs)):
        for size, one in zip(shops, took, strict=True):
            say(f"{what}, {size}", one, took[0], 1.2, "the smallest shop")


def one_size(folder: Path, size: int) -> None:
    """Measure a shop's listings."""
    path = folder / "ledger.db"
    rounds = ROUNDS.get(size, 15)
    with open_ledger(f"sqlite:///{path}") as ledger:
        raw = sqlite3.connect(path)
        raw.execute("PRAGMA cache_size = -65536")
        oil = raw.execute("SELECT code FROM lot WHERE kind = 'ingredient' LIMIT 1").fetchone()[0]

        def against(what: str, ours: Callable[[], object], plain: Callable[[], object]) -> None:
            took = by_turns(rounds, lambda: timed(ours), lambda: timed(plain))
            say(f"{what}, {size}", *took, 3, "raw SQL")

        def stock() -> None:
            with ledger.read() as r:
                r.stock()

        def walk() -> None:
            with ledger.read() as r:
                r.follow(oil)

        against("curing and ready read", lambda: in_stock(ledger), lambda: raw_in_stock(raw))
        against("stock", stock, lambda: [raw.execute(sql).fetchall() for sql in STOCK])
        against("trace", walk, lambda: [raw.execute(sql, (oil,)).fetchall() for sql in TRACE])
        with open_desk(folder, today=TODAY, now=datetime.now(UTC), by="bench") as desk:
            against(
                "season",
                lambda: season(desk, FIRST, TODAY),
                lambda: [raw.execute(sql).fetchall() for sql in SEASON],
            )
        raw.close()


def cold_start(folder: Path) -> None:
    """Fresh interpreters against the bare imports."""
    shop = folder / "demo"
    if not shop.exists():
        started("-m", "soapstock", "demo", str(shop))
    listing = ("-m", "soapstock", "--shop", str(shop), "--today", "2026-11-20", "curing")
    typer, shown, both, curing, numpy = by_turns(
        STARTS,
        lambda: started("-c", "import typer"),
        lambda: started("-m", "soapstock", "--help"),
        lambda: started("-c", "import typer, sqlmodel"),
        lambda: started(*listing),
        lambda: started("-c", "import numpy"),
    )
    say("--help", shown, typer, 1.3, "import typer")
    say("curing, 14 batches", curing, both, 1.3, "import typer, sqlmodel")
    say("import numpy alone", numpy, both, 1.3, "import typer, sqlmodel")


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
        shops[size] = folder = given.folder / f"{size}-{newest()}"
        folder.mkdir(exist_ok=True)
        (folder / "shop.toml").write_text(shop_text(Shop(folder=folder, maker="Made Maker")))
        path = folder / "ledger.db"
        if not path.exists():
            part = path.with_suffix(".part")
            part.unlink(missing_ok=True)
            make_shop(part, size)
            part.rename(path)
    scan_growth(shops)
    for size, folder in shops.items():
        one_size(folder, size)
    cold_start(given.folder)


if __name__ == "__main__":
    main()
