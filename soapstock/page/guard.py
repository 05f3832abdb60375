"""Who is let in: asked by a name of ours, of a size we take, by a paired phone.

It stands before every page, so that no page can forget it. What goes wrong is told to the phone in
a line; the log names the place in the code and no data of the shop.
"""

from __future__ import annotations

import sys
import traceback
from collections.abc import Awaitable, Callable, MutableMapping
from http.cookies import CookieError, SimpleCookie
from typing import Any
from urllib.parse import urlsplit

from starlette.requests import ClientDisconnect

from soapstock.desk.phones import may_read, phone_of
from soapstock.page.site import COOKIE, Site
from soapstock.page.words import say

Scope = MutableMapping[str, Any]
Message = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]

LARGEST_BODY = 64_000
LARGEST_PICTURE = 15_000_000
PICTURES = ("/scan/picture", "/photo")  # how the paths end that take one
OPEN = ("/pair", "/static/")  # what a phone needs before it is paired; no data of the shop
METHODS = {"GET", "HEAD", "POST"}
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; "
    "connect-src 'self'; worker-src 'self'; manifest-src 'self'; form-action 'self'; "
    "base-uri 'none'; frame-ancestors 'none'"
)
HEADERS = [
    (b"content-security-policy", POLICY.encode()),
    (b"x-content-type-options", b"nosniff"),
    (b"referrer-policy", b"same-origin"),
    (b"cross-origin-opener-policy", b"same-origin"),
    (b"cross-origin-resource-policy", b"same-origin"),
    (b"permissions-policy", b"geolocation=(), microphone=()"),
]


class Guard:
    """The gate before the application."""

    def __init__(self, app: App, site: Site) -> None:
        self.app, self.site = app, site

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request in, or answer it here."""
        if scope["type"] == "http":
            await self._answer(scope, receive, send)
        elif scope["type"] == "lifespan":
            await self.app(scope, receive, send)

    async def _answer(self, scope: Scope, receive: Receive, send: Send) -> None:
        begun = False

        async def guarded(message: Message) -> None:
            nonlocal begun
            if message["type"] == "http.response.start":
                begun = True
                message["headers"] = [*message.get("headers", []), *HEADERS]
                if not any(name == b"cache-control" for name, _ in message["headers"]):
                    message["headers"].append((b"cache-control", b"no-store"))
            await send(message)

        try:
            refused = self._refused(scope)
            if refused is None:
                limited = _limited(receive, _largest(scope["path"]))
                await self.app(scope, limited, guarded)
                return
            await _answer(guarded, *refused)
        except TooLarge:
            if not begun:
                await _answer(guarded, 413, say("error.too_large"))
        except ClientDisconnect:
            return  # the phone went out of reach; it sends again
        except Exception as error:
            _log(error)
            if not begun:
                await _answer(guarded, 500, say("error.unexpected"))

    def _refused(self, scope: Scope) -> tuple[int, str] | None:
        """Status and words when the request is not let in."""
        headers: dict[bytes, list[bytes]] = {}
        for name, value in scope["headers"]:
            headers.setdefault(name, []).append(value)
        hosts = headers.get(b"host", [])
        if len(hosts) != 1 or _name(hosts[0].decode("latin-1")) not in self.site.hosts:
            return 421, say("error.host")
        if scope["method"] not in METHODS:
            return 405, say("error.method")
        if scope["method"] == "POST" and not _own_page(headers, hosts[0]):
            return 403, say("error.forged")
        lengths = headers.get(b"content-length", [])
        if any(not n.isdigit() or int(n) > _largest(scope["path"]) for n in lengths):
            return 413, say("error.too_large")
        return self._unpaired(scope, headers)

    def _unpaired(self, scope: Scope, headers: dict[bytes, list[bytes]]) -> tuple[int, str] | None:
        path = scope["path"]
        state = scope.setdefault("state", {})
        state["phone"] = None
        if path == "/sw.js" or path == OPEN[0] or path.startswith(OPEN[1]):
            return None
        if path == "/api" or path.startswith("/api/"):
            words = b"".join(headers.get(b"authorization", [])).decode("latin-1")
            if words.startswith("Bearer ") and may_read(self.site.folder, words[7:]):
                return None
            return 401, say("error.no_reader")
        secret = _cookie(headers)
        state["phone"] = phone_of(self.site.folder, secret) if secret else None
        return (401, say("error.unpaired")) if state["phone"] is None else None


def _name(host: str) -> str:
    """The host's name without its port, in lower case; empty when it is not plain."""
    try:
        parts = urlsplit(f"//{host}")
        if parts.username is not None or parts.path or parts.query or parts.fragment:
            return ""
        _ = parts.port
        return (parts.hostname or "").rstrip(".")
    except ValueError:
        return ""


def _own_page(headers: dict[bytes, list[bytes]], host: bytes) -> bool:
    """Whether a form comes from a page of ours, as far as the browser says."""
    if headers.get(b"sec-fetch-site", [b"same-origin"]) not in ([b"same-origin"], [b"none"]):
        return False
    origins = headers.get(b"origin", [])
    return all(urlsplit(o.decode("latin-1")).netloc == host.decode("latin-1") for o in origins)


def _cookie(headers: dict[bytes, list[bytes]]) -> str:
    try:
        jar = SimpleCookie(b"; ".join(headers.get(b"cookie", [])).decode("latin-1"))
    except CookieError:
        return ""
    return jar[COOKIE].value if COOKIE in jar else ""


class TooLarge(Exception):
    """More was sent than is taken."""


def _largest(path: str) -> int:
    return LARGEST_PICTURE if path.endswith(PICTURES) else LARGEST_BODY


def _limited(receive: Receive, most: int) -> Receive:
    """The body as it comes, but no more of it than is taken, whatever its head said."""
    seen = 0

    async def limited() -> Message:
        nonlocal seen
        message = await receive()
        seen += len(message.get("body", b""))
        if seen > most:
            raise TooLarge
        return message

    return limited


async def _answer(send: Send, status: int, words: str) -> None:
    body = words.encode()
    head = [(b"content-type", b"text/plain; charset=utf-8"), (b"content-length", b"%d" % len(body))]
    await send({"type": "http.response.start", "status": status, "headers": head})
    await send({"type": "http.response.body", "body": body})


def _log(error: Exception) -> None:
    """Name the kind of error and where in the code it rose; its text may hold data of the shop."""
    last = traceback.extract_tb(error.__traceback__)[-1]
    sys.stderr.write(f"soapstock: {type(error).__name__} at {last.filename}:{last.lineno}\n")
