"""The page in a real browser: by touch, with a bad network, for all eyes.

The whole of it (every page, 200 cuts) is an own command: `python -m tests.page.whole`.
"""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.page.browser import browsing, paired
from tests.page.cuts import book, day, line_to, sent
from tests.page.eyes import axe_script, faults, pages
from tests.page.served import Served, serving
from tests.page.test_enter import bar_g, entries, lots
from tests.page.test_pot import plan

SAMPLE = ("batch curing", "form weigh", "before the lye", "trace")


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    """One browser for all tests here."""
    with browsing() as found:
        yield found


def test_pages_are_for_all_eyes_and_thumbs(demo_shop: Path, browser: Any) -> None:
    """Axe finds nothing, all is as wide as the phone, targets are 44 px, no other host is asked."""
    script, asked = axe_script(), set()
    with serving(demo_shop) as shown, paired(browser, shown) as page:
        page.on("request", lambda request: asked.add(request.url))
        there = pages(shown)
        found = {name: faults(page, shown.address + there[name], script) for name in SAMPLE}
        assert all(url.startswith((shown.address, "data:")) for url in asked)
    assert not any(found.values()), found


def test_from_the_scan_to_the_weigh_in(served: Served, browser: Any) -> None:
    """Typed code, batch, weigh, said at once, and entered for the person."""
    lot = lots(served, "curing")[0]
    before, grams = len(entries(served)), 4 * bar_g(served, lot)
    with paired(browser, served) as page:
        page.get_by_role("link", name="Scan").click()
        page.get_by_label("Lot code").fill(lot.replace("-", "").lower())
        page.get_by_role("button", name="Find it").click()
        page.locator("main").get_by_role("link", name="Weigh", exact=True).last.click()
        page.get_by_label("Bars", exact=False).first.fill("4")
        page.get_by_label("Mass, g").fill(f"{grams:.0f}")
        page.get_by_role("button", name="Enter the weigh-in").click()
        page.get_by_text("Sent: Weighed").wait_for()
    assert len(entries(served)) == before + 1
    assert entries(served)[-1][0] == "Ada"


def test_a_whole_pour_by_touch(served: Served, browser: Any) -> None:
    """By the big keys, through the lye's cautions, to trace."""
    masses = plan(served)
    with paired(browser, served) as page:
        page.goto(f"{served.address}/pot/EBB?bars=6")
        page.get_by_role("link", name="Start to weigh").click()
        for key, mass in masses.items():
            tick = page.get_by_label("Goggles and gloves are on")
            page.locator("h1").wait_for()
            if tick.count():
                assert page.get_by_text("never water to lye").is_visible()
                page.get_by_role("button", name="Weigh the lye").click()
                assert tick.is_visible(), "it is not passed without the tick"
                tick.check()
                page.get_by_role("button", name="Weigh the lye").click()
            page.get_by_role("heading", name=key).wait_for()
            for figure in f"{mass}":
                page.locator(".pad").get_by_role("button", name=figure, exact=True).click()
            page.get_by_role("button", name="Next").click()
        page.get_by_role("button", name="Blending begins").click()
        page.get_by_role("button", name="Trace now").click()
        assert float(page.get_by_label("Minutes to trace").input_value()) > 0
        page.get_by_role("button", name="Enter the pour").click()
        page.get_by_text("Sent: Poured Ebb").wait_for()
    assert entries(served)[-1][0] == "Ada"


def test_a_day_with_a_bad_network_is_the_day_without_cuts(
    demo_once: Path, tmp_path: Path, browser: Any
) -> None:
    """Cut at any byte of any request or answer: the same entries, once, in the same order."""
    books = []
    for name, cutting in (("plain", False), ("cut", True)):
        shutil.copytree(demo_once, tmp_path / name)
        with (
            serving(tmp_path / name) as served,
            paired(browser, served) as page,
            line_to(served, 20261126) as line,
        ):
            line.cutting = cutting
            day(page, line.address, served, 1)
            line.cutting = False
            sent(page, line.address)
            books.append(book(served))
            assert (line.cuts > 0) is cutting
    assert books[0] == books[1]


def test_a_trembling_finger_sells_one_bar(served: Served, browser: Any) -> None:
    """Two taps in one go are one sale; a pour whose last page comes back is poured once."""
    lot, before = lots(served, "ready")[0], len(entries(served))
    query = "&".join(f"m.{key}={mass}" for key, mass in plan(served).items())
    end = f"{served.address}/pot/EBB/end?bars=6&ready=yes&pot={'7' * 32}&{query}"
    with paired(browser, served) as page:
        page.goto(f"{served.address}/market?name=Quay")
        page.locator(f'form[action="/lot/{lot}/sell"] button').first.dblclick()
        page.get_by_text("Sent: Shipped").wait_for()
        page.get_by_role("button", name="Try now").wait_for(state="detached")
        for said in ("Sent: Poured Ebb", "recorded already"):
            page.goto(end)
            page.get_by_role("button", name="Enter the pour").click()
            page.get_by_text(said).wait_for()
            assert not page.get_by_role("button", name="Enter the pour").is_visible()
    assert len(entries(served)) == before + 2


def test_a_refusal_comes_back_to_the_person(served: Served, browser: Any) -> None:
    """What waited and may not be is shown with its reason, also after the page is loaded anew."""
    lot = lots(served, "ready")[0]
    before = len(entries(served))
    with paired(browser, served) as page:
        page.goto(f"{served.address}/lot/{lot}/sell")
        page.context.set_offline(True)
        page.get_by_label("Bars", exact=False).first.fill("9999")
        page.get_by_label("Customer or market").fill("Quay")
        page.get_by_role("button", name="Enter the sale").click()
        page.get_by_text("1 waiting for the network").wait_for()
        page.context.set_offline(False)
        page.get_by_text("Not entered: Sell").wait_for()
        page.reload()
        page.get_by_text("Not entered: Sell").wait_for()
        page.get_by_role("button", name="Put aside").click()
        page.locator("#waiting").wait_for(state="hidden")
    assert len(entries(served)) == before


def test_a_page_once_opened_opens_without_a_network(served: Served, browser: Any) -> None:
    """The service worker keeps what was seen; an entry waits over a reload, then goes."""
    lot = lots(served, "curing")[0]
    before, grams = len(entries(served)), 4 * bar_g(served, lot)
    with paired(browser, served, workers="allow") as page:
        page.evaluate("navigator.serviceWorker.ready.then(() => 1)")
        page.wait_for_function("navigator.serviceWorker.controller")
        page.goto(f"{served.address}/lot/{lot}/weigh")
        page.context.set_offline(True)
        page.reload()
        page.get_by_label("Bars", exact=False).first.fill("4")
        page.get_by_label("Mass, g").fill(f"{grams:.0f}")
        page.get_by_role("button", name="Enter the weigh-in").click()
        page.get_by_text("1 waiting for the network").wait_for()
        page.reload()
        page.get_by_text("1 waiting for the network").wait_for()
        assert len(entries(served)) == before
        page.context.set_offline(False)
        page.get_by_text("Sent: Weighed").wait_for()
    assert len(entries(served)) == before + 1


def test_a_script_in_a_name_does_not_run(served: Served, browser: Any) -> None:
    """Not in a page, not among what waits."""
    lot, ran = lots(served, "ready")[0], []
    evil = "<img src=x onerror=alert(1)><script>alert(2)</script>"
    with paired(browser, served) as page:
        page.on("dialog", lambda dialog: (ran.append(dialog.message), dialog.dismiss()))
        page.goto(f"{served.address}/lot/{lot}/sell")
        page.get_by_label("Bars", exact=False).first.fill("1")
        page.get_by_label("Customer or market").fill(evil)
        page.get_by_role("button", name="Enter the sale").click()
        page.get_by_text("Sent: Shipped").wait_for()
        page.goto(f"{served.address}/lot/{lot}")
        assert page.locator("main img").count() == 0
    assert ran == []
