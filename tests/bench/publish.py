"""Publishing a big shop, against writing the same pages from their template alone, in the same run.

    python tests/bench/publish.py [LOTS]

The baseline has every lot's record in hand: it fills the template and writes the file, nothing
else. `publish` reads the ledger, judges every lot, words its label, and keeps what it wrote. Prints
ratios of processor time: a first run, wanted at most 3 times the baseline; a second run after one
lot was put on hold, wanted at most a tenth of the first. Asserts nothing.
"""

# ruff: noqa: T201 - it prints
from __future__ import annotations

import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path

from soapstock.desk.desk import Desk, open_desk
from soapstock.enter.decide import decide
from soapstock.exchange.public_page import Site, lot_page
from soapstock.papers.publish import publish
from soapstock.shop import Shop, shop_text
from soapstock.views.public import public

sys.path.insert(0, str(Path(__file__).parents[2]))
from tests.bench.ledger_made_shop import code_of, make_shop

LOTS = 10_000
TODAY = date(2028, 1, 1)


def timed(work: Callable[[], object]) -> float:
    """Seconds of the processor."""
    began = time.process_time()
    work()
    return time.process_time() - began


def from_template(desk: Desk, folder: Path) -> Callable[[], None]:
    """What fills the template with records made before, and writes the files."""
    told = public(desk)
    shop = desk.shop
    site = Site(maker=shop.maker, address=shop.address, contact="", languages=("en",))

    def write() -> None:
        for lot in told.lots:
            where = folder / "lot" / lot.code / "index.html"
            where.parent.mkdir(parents=True)
            where.write_bytes(lot_page(site, lot, (), depth=2))

    return write


def main() -> None:
    """Make the shop, run, print."""
    lots = int(sys.argv[1]) if sys.argv[1:] else LOTS
    with tempfile.TemporaryDirectory() as made:
        folder = Path(made)
        shop = Shop(folder=folder, maker="Made Farm", address=("1 Made Lane",))
        (folder / "shop.toml").write_text(shop_text(shop), encoding="utf-8")
        make_shop(folder / "ledger.db", lots)
        now = datetime(2028, 1, 1, tzinfo=UTC)
        with open_desk(folder, today=TODAY, now=now, by="bench") as opened:
            desk = replace(opened, shop=replace(opened.shop, web="https://made.example"))
            bare = timed(from_template(desk, folder / "bare"))
            first = timed(lambda: publish(desk, folder / "site"))
            decide(desk, code_of(lots - 1), "hold", "looks odd")
            again = timed(lambda: print(f"written again: {publish(desk, folder / 'site').written}"))
    print(f"{lots} lots: template alone {bare:.1f} s")
    print(f"first run {first:.1f} s, {first / bare:.2f} times the template (asked: at most 3)")
    print(f"second run {again:.2f} s, {again / first:.3f} of the first (asked: at most 0.1)")


if __name__ == "__main__":
    main()
