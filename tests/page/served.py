"""The page as a phone sees it: a real server on this machine, a real client, plain forms."""

from __future__ import annotations

import socket
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import html5lib
import httpx
import uvicorn

from soapstock.desk import phones
from soapstock.page.app import make_app
from soapstock.page.site import Site
from soapstock.upkeep.demo import DEMO_DAY

X = "{http://www.w3.org/1999/xhtml}"


@dataclass(frozen=True)
class Served:
    """A served shop."""

    site: Site
    address: str

    def client(self, **more: Any) -> httpx.Client:
        """A browser that is not paired."""
        return httpx.Client(base_url=self.address, timeout=60.0, trust_env=False, **more)

    @contextmanager
    def phone(self, person: str = "Ada", name: str = "barn") -> Iterator[httpx.Client]:
        """A paired phone."""
        code = phones.new_code(self.site.folder, person, datetime.now(UTC))
        with self.client() as found:
            answer = found.post("/pair", data={"code": code, "name": name})
            assert answer.status_code == 303, answer.text
            yield found


@contextmanager
def serving(folder: Path, **more: Any) -> Iterator[Served]:
    """Serve a shop while the block runs."""
    listening = socket.socket()
    listening.bind(("127.0.0.1", 0))
    listening.listen(64)  # from here on a client may come, however long the server takes to start
    site = Site(
        folder=folder,
        hosts=frozenset({"127.0.0.1", "localhost"}),
        **{"pinned": DEMO_DAY, **more},
    )
    config = uvicorn.Config(make_app(site), log_level="error", access_log=False, ws="none")
    server = uvicorn.Server(config)
    running = threading.Thread(target=server.run, kwargs={"sockets": [listening]}, daemon=True)
    running.start()
    try:
        yield Served(site, f"http://127.0.0.1:{listening.getsockname()[1]}")
    finally:
        server.should_exit = True
        running.join(30)
        listening.close()


def parsed(html: str) -> Any:
    """The tree of a page; strict: any fault of its HTML is an error (WHATWG HTML, parsing)."""
    return html5lib.HTMLParser(strict=True).parse(html)


def form(html: str, action: str, number: int = 0) -> dict[str, str]:
    """The fields of a form as a browser would send them untouched; of several, the numbered one."""
    found = [f for f in parsed(html).iter(f"{X}form") if f.get("action") == action][number]
    sent = {e.get("name"): e.get("value", "") for e in found.iter(f"{X}input")}
    for choice in found.iter(f"{X}select"):
        options = list(choice.iter(f"{X}option"))
        chosen = [o for o in options if o.get("selected") is not None] or options[:1]
        sent[choice.get("name")] = chosen[0].get("value", chosen[0].text)
    return sent
