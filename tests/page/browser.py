"""A real browser: Debian's Chromium as a phone of 360 by 740 points.

It is started by us in a process group of its own, and that group is killed at the end whatever
happened: by the block's end, or by a clock when the block takes too long (every wait in it then
fails, so that no test can hang here).
"""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import tempfile
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from soapstock.desk import phones
from tests.page.served import Served

WIDTH, HEIGHT = 360, 740
STARTS_IN_S = 30.0
WAIT_MS = 15_000
FLAGS = (
    "--headless --no-sandbox --disable-gpu --disable-quic --no-first-run --disable-sync "
    "--disable-background-networking --disable-component-update --disable-dev-shm-usage "
    "--remote-debugging-port=0"
).split()


def chromium() -> str:
    """Where the browser is; without one the test is skipped."""
    found = shutil.which("chromium") or shutil.which("chromium-browser")
    if found is None:
        pytest.skip("no Chromium here: install it with apt-get install chromium")
    return found


@contextmanager
def _started(where: str, most_s: float) -> Iterator[str]:
    """Chromium as long as the block runs, at most so many seconds; the address that drives it."""
    home = Path(tempfile.mkdtemp(prefix="soapstock-browser-"))
    with (home / "said").open("wb") as said:
        process = subprocess.Popen(
            [where, *FLAGS, f"--user-data-dir={home / 'profile'}", "about:blank"],
            stdin=subprocess.DEVNULL,
            stdout=said,
            stderr=said,
            start_new_session=True,
        )

    def kill() -> None:
        try:
            os.killpg(process.pid, signal.SIGKILL)
        except ProcessLookupError:
            pass

    clock = threading.Timer(most_s, kill)
    clock.daemon = True
    clock.start()
    try:
        yield _driven_at(process, home)
    finally:
        clock.cancel()
        kill()
        process.wait(10)
        shutil.rmtree(home, ignore_errors=True)


def _driven_at(process: subprocess.Popen[bytes], home: Path) -> str:
    """The address that the browser wrote down once it had started."""
    port = home / "profile" / "DevToolsActivePort"
    until = time.monotonic() + STARTS_IN_S
    while time.monotonic() < until and process.poll() is None:
        lines = port.read_text().split() if port.exists() else []
        if len(lines) == 2:
            return f"http://127.0.0.1:{lines[0]}"
        time.sleep(0.05)  # another process's file: there is nothing to wait on
    why = (home / "said").read_text(errors="replace")[-300:]
    pytest.fail(f"Chromium did not start: {why}")


@contextmanager
def browsing(most_s: float = 200.0) -> Iterator[Any]:
    """A browser for a block that takes at most so many seconds."""
    from playwright.sync_api import sync_playwright

    with _started(chromium(), most_s) as address, sync_playwright() as driver:
        yield driver.chromium.connect_over_cdp(address, timeout=WAIT_MS)


@contextmanager
def paired(
    browser: Any, served: Served, *, scheme: str = "light", workers: str = "block"
) -> Iterator[Any]:
    """A page of a phone that was paired for Ada by the link that its camera read."""
    context = browser.new_context(
        viewport={"width": WIDTH, "height": HEIGHT},
        has_touch=True,
        color_scheme=scheme,
        service_workers=workers,
    )
    try:
        context.set_default_timeout(WAIT_MS)
        page = context.new_page()
        code = phones.new_code(served.site.folder, "Ada", datetime.now(UTC))
        page.goto(f"{served.address}/pair?code={code}")
        page.get_by_role("button", name="Pair").click()
        page.wait_for_url(f"{served.address}/")
        yield page
    finally:
        context.close()
