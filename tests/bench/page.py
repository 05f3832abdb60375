"""The phone's page in a big shop with eight phones, against its views called in process.

    python tests/bench/page.py [BATCHES] [ROUNDS]

The server runs in a process of its own. Eight phones ask for pages in their own order, with a
second to read each: what people at a rack do. The server keeps what a view said until the shop
changes, so two figures are told for each page, by the clock: the answer when the page is asked for
the first time, and the 95th percentile of all that follow, each against the median of its view
called alone (asked: at most 3). Then what goes over the line at a first visit, styles and scripts
included (asked: at most 40 kB). Asserts nothing.
"""

# ruff: noqa: T201 - it prints
from __future__ import annotations

import multiprocessing
import random
import re
import socket
import sys
import tempfile
import threading
import time
from collections import defaultdict
from collections.abc import Callable
from datetime import UTC, date, datetime
from pathlib import Path
from statistics import median, quantiles

import httpx
import uvicorn

from soapstock.cure.gates import read_gates
from soapstock.cure.model import kept
from soapstock.desk import phones
from soapstock.desk.desk import Desk, open_desk
from soapstock.page.app import make_app
from soapstock.page.lots import _batch
from soapstock.page.site import Site
from soapstock.shop import Shop, shop_text
from soapstock.views.history import scan
from soapstock.views.lists import ready
from soapstock.views.stock import places, stock
from soapstock.views.today import steps
from soapstock.views.varieties import varieties

sys.path.insert(0, str(Path(__file__).parents[2]))
from tests.bench.ledger_made_shop import code_of, make_shop

BATCHES, ROUNDS, PHONES, READING_S = 10_000, 12, 8, 1.0
DAYS_AHEAD = 60
NOW = datetime(2028, 1, 1, 12, tzinfo=UTC)


def views(lot: str) -> dict[str, Callable[[Desk], object]]:
    """The view behind each page."""
    return {
        "/": lambda desk: steps(desk, DAYS_AHEAD),
        "/stock": varieties,
        "/market?name=Quay": ready,
        "/shelf?place=rack": lambda desk: (places(desk), stock(desk)),
        f"/lot/{lot}": lambda desk: _batch(desk, scan(desk, lot)),
        f"/lot/{lot}/weigh": places,
    }


def serve(folder: Path, listening: socket.socket, today: date) -> None:
    """Serve the shop until killed."""
    site = Site(folder=folder, hosts=frozenset({"127.0.0.1"}), pinned=today)
    config = uvicorn.Config(make_app(site), log_level="error", access_log=False, ws="none")
    uvicorn.Server(config).run(sockets=[listening])


def phone(folder: Path, address: str, number: int) -> httpx.Client:
    """A paired phone."""
    client = httpx.Client(base_url=address, timeout=60.0, trust_env=False)
    code = phones.new_code(folder, f"P{number}", datetime.now(UTC))
    assert client.post("/pair", data={"code": code, "name": "x"}).status_code == 303
    return client


def ask(client: httpx.Client, paths: list[str], rounds: int, took: dict[str, list[float]]) -> None:
    """One person at a phone."""
    order = random.Random(str(client.cookies))
    for _ in range(rounds):
        for path in order.sample(paths, len(paths)):
            time.sleep(order.uniform(0.5, 1.5) * READING_S)
            took[path].append(once(client, path))


def once(client: httpx.Client, path: str) -> float:
    """Seconds until a page is there."""
    began = time.perf_counter()
    assert client.get(path).status_code == 200, path
    return time.perf_counter() - began


def weight(client: httpx.Client, path: str) -> int:
    """Bytes of a page and of all that it names."""
    answers = [client.get(path)]
    more = set(re.findall(r'(?:src|href)="(/static/[^"]+)"', answers[0].text))
    answers += [client.get(one) for one in more]
    return sum(answer.num_bytes_downloaded for answer in answers)


def view_times(folder: Path, lot: str, today: date, times: int) -> dict[str, float]:
    """The median of each view with the shop opened for it, s."""
    found = {}
    for path, view in views(lot).items():
        took = []
        for _ in range(times):
            kept.cache_clear()
            read_gates.cache_clear()
            began = time.perf_counter()
            with open_desk(folder, today=today, now=NOW, by="") as desk:
                view(desk)
            took.append(time.perf_counter() - began)
        found[path] = median(took)
    return found


def main() -> None:
    """Make the shop, serve it, ask, print."""
    numbers = [int(word) for word in sys.argv[1:]]
    batches, rounds = (numbers + [BATCHES, ROUNDS][len(numbers) :])[:2]
    today = date(2000, 1, 1).fromordinal(date(2000, 1, 1).toordinal() + batches + 20)
    with tempfile.TemporaryDirectory() as made:
        folder = Path(made)
        shop = Shop(folder=folder, maker="Made Farm", address=("1 Made Lane",))
        (folder / "shop.toml").write_text(shop_text(shop), encoding="utf-8")
        make_shop(folder / "ledger.db", batches)
        listening = socket.socket()
        listening.bind(("127.0.0.1", 0))
        listening.listen(64)
        address = f"http://127.0.0.1:{listening.getsockname()[1]}"
        server = multiprocessing.Process(target=serve, args=(folder, listening, today), daemon=True)
        server.start()
        lot = code_of(batches - 40)
        clients = [phone(folder, address, n) for n in range(PHONES)]
        paths = list(views(lot))
        first = {path: once(clients[0], path) for path in paths}
        took: dict[str, list[float]] = defaultdict(list)
        threads = [
            threading.Thread(target=ask, args=(client, paths, rounds, took)) for client in clients
        ]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        weights = {path: weight(clients[0], path) for path in paths}
        server.kill()
        alone = view_times(folder, lot, today, 7)
    print(f"{batches} batches, {PHONES} phones, {rounds} rounds; asked: at most 3 times, 40 kB")
    for path in paths:
        p95 = quantiles(took[path], n=20)[-1]
        print(
            f"{path:22} first {first[path] / alone[path]:5.2f}  p95 {p95 / alone[path]:5.2f} times"
            f"  {weights[path] / 1000:5.1f} kB  ({1000 * first[path]:.0f}, {1000 * p95:.0f} ms;"
            f" its view {1000 * alone[path]:.0f} ms)"
        )


if __name__ == "__main__":
    main()
