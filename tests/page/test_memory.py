"""What the page keeps of its views: never older than the shop."""

from __future__ import annotations

import threading
from dataclasses import replace
from datetime import timedelta

import httpx

from soapstock.desk.desk import Desk
from soapstock.page import memory
from soapstock.upkeep.demo import DEMO_DAY
from tests.page.served import Served
from tests.page.test_enter import lots, send


def test_a_view_is_asked_anew_when_the_shop_changed(served: Served, phone: httpx.Client) -> None:
    """By an entry, by a file of settings, on another day; else it is what it was."""
    site, asked = served.site, []

    def view(desk: Desk) -> int:
        asked.append(desk.today)
        return len(asked)

    assert [site.ask("x", view), site.ask("x", view)] == [1, 1]
    assert send(phone, lots(served, "curing")[0], "hold", why="odd").status_code == 200
    assert [site.ask("x", view), site.ask("x", view)] == [2, 2]
    (site.folder / "fats.toml").write_text("", encoding="utf-8")
    assert [site.ask("x", view), site.ask("x", view)] == [3, 3]
    tomorrow = replace(site, pinned=DEMO_DAY + timedelta(days=1))
    assert [tomorrow.ask("x", view), tomorrow.ask("x", view)] == [4, 4]


def test_two_that_ask_at_once_wait_for_one_answer(served: Served) -> None:
    """Eight phones make one forecast."""
    asked: list[int] = []
    go = threading.Barrier(8)

    def view(desk: Desk) -> int:
        asked.append(1)
        return len(asked)

    def ask() -> None:
        go.wait()
        served.site.ask("x", view)

    threads = [threading.Thread(target=ask) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(asked) == 1


def test_it_does_not_grow(served: Served) -> None:
    """A stranger's thousand wrong codes keep nothing for long."""
    for number in range(memory.MOST + 20):
        served.site.ask(f"lot {number}", lambda _: 0)
    assert len(served.site.memory._kept) == memory.MOST
    assert len(served.site.memory._asking) == memory.MOST
