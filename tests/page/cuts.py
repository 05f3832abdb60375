"""A network that breaks at any byte of an entry or its answer, and a day's work through it."""

from __future__ import annotations

import random
import select
import socket
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any
from urllib.parse import urlencode, urlsplit

from tests.page.served import Served
from tests.page.test_enter import bar_g, bars_left, lots
from tests.page.test_pot import plan

ENTRY_BYTES = 1500  # the mean of what gets through of an entry and its answer, before the cut
PAGES_LOST = 0.15  # the share of pages and their parts that are not reached at all


class Line:
    """Carries bytes to the server; while `cutting`, each connection breaks after some bytes."""

    def __init__(self, address: str, seed: int) -> None:
        where = urlsplit(address)
        self.to = (where.hostname or "", where.port or 0)
        self.chance = random.Random(seed)
        self.cutting, self.cuts = False, 0
        self.listening = socket.create_server(("127.0.0.1", 0), backlog=64)
        self.address = f"http://127.0.0.1:{self.listening.getsockname()[1]}"

    def run(self) -> None:
        """Take connections until the listening socket is closed."""
        while True:
            try:
                near, _ = self.listening.accept()
            except OSError:
                return
            threading.Thread(target=self._carry, args=(near,), daemon=True).start()

    def _lives(self, entry: bool, left: int | None) -> int | None:
        """How many bytes still get through of what was asked."""
        if entry:
            return int(self.chance.expovariate(1 / ENTRY_BYTES))
        return 0 if self.chance.random() < PAGES_LOST else left

    def _carry(self, near: socket.socket) -> None:
        left: int | None = None
        with near, socket.create_connection(self.to, timeout=30) as far:
            try:
                while left is None or left > 0:
                    heard, _, _ = select.select((near, far), (), (), 60)
                    for one in heard:
                        data = one.recv(65536)
                        if not data:
                            return
                        if self.cutting and one is near:
                            left = self._lives(data.startswith(b"POST "), left)
                        if left is not None:
                            data, left = data[:left], left - len(data[:left])
                        (far if one is near else near).sendall(data)
                    if not heard:
                        return
                self.cuts += 1
            except OSError:
                return


@contextmanager
def line_to(served: Served, seed: int) -> Iterator[Line]:
    """A line to a served shop while the block runs."""
    line = Line(served.address, seed)
    running = threading.Thread(target=line.run, daemon=True)
    running.start()
    try:
        yield line
    finally:
        line.listening.shutdown(socket.SHUT_RDWR)
        line.listening.close()
        running.join(10)


def go(page: Any, address: str) -> None:
    """Open a page as a person does: again, until it is there with all its parts."""
    from playwright.sync_api import Error

    for _ in range(30):
        try:
            page.goto(address, timeout=3000)
            if page.evaluate("document.documentElement.dataset.page") == "ready":
                return
            why = "without its script"
        except Error as error:
            why = error.message
    raise AssertionError(f"{address} never came whole: {why}")


def day(page: Any, at: str, served: Served, rounds: int) -> None:
    """Weigh, pour once, and sell a bar of every lot in each round."""
    curing, ready = lots(served, "curing")[0], sorted(lots(served, "ready"))
    grams, here = 4 * bar_g(served, curing), {lot: bars_left(served, lot) for lot in ready}
    masses = {f"m.{key}": str(mass) for key, mass in plan(served).items()}
    for turn in range(rounds):
        go(page, f"{at}/lot/{curing}/weigh")
        page.get_by_label("Bars", exact=False).first.fill("4")
        page.get_by_label("Mass, g").fill(f"{grams - turn:.0f}")
        page.get_by_role("button", name="Enter the weigh-in").click()
        if turn == 0:
            pot = {"bars": "6", "ready": "yes", "pot": "0" * 32, **masses}
            go(page, f"{at}/pot/EBB/end?{urlencode(pot)}")
            page.get_by_role("button", name="Enter the pour").click()
        go(page, f"{at}/market?name=Quay")
        for lot in ready:
            if here[lot] > turn + 1:
                page.locator(f'form[action="/lot/{lot}/sell"] button').first.click()


def sent(page: Any, at: str) -> None:
    """Wait until nothing waits, now that the network is back."""
    from playwright.sync_api import expect

    go(page, at)
    expect(page.get_by_role("button", name="Try now")).to_have_count(0, timeout=30_000)
    assert page.get_by_text("Not entered").count() == 0, page.locator("#waiting").inner_text()


def book(served: Served) -> list[tuple[object, ...]]:
    """All that stands in the ledger but instants: entries in order, and where everything is."""
    from soapstock.views.stock import stock

    with served.site.open() as desk:
        with desk.ledger.read() as reader:
            entries = reader.entries(None, None)
        rows = [(str(r.lot), r.place, str(r.quantity), r.unit) for r in stock(desk)]
    return [(e.id, e.kind, e.happened_on, e.by, e.summary, e.note) for e in entries] + sorted(rows)
