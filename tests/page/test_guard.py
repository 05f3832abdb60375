"""Who is let in, and what a hostile network gets: nothing.

Rules: OWASP Cheat Sheets "Cross-Site Request Forgery Prevention" (token, SameSite, Origin) and
"Session Management" (HttpOnly, random identifiers), as read 2024 (from memory); Content-Security-
Policy Level 3 (W3C); RFC 9110 section 7.4 (421 for a host that is not served).
"""

from __future__ import annotations

import re
import socket
from datetime import UTC, datetime, timedelta
from pathlib import Path
from urllib.parse import urlsplit

import httpx
import pytest

from soapstock.desk import phones
from soapstock.errors import RuleBroken
from tests.page.served import Served, form

LOT = "EEL-26290-AT"
PAGES = ["/", "/scan", "/stock", "/market", "/shelf", "/phones", f"/lot/{LOT}", f"/lot/{LOT}/weigh"]
SHOP = re.compile(r"Heronwick|EEL|Eelgrass|Samphire|Lantern", re.IGNORECASE)


def raw(served: Served, text: str) -> bytes:
    """The answer to bytes that no decent client sends."""
    where = urlsplit(served.address)
    with socket.create_connection((where.hostname, where.port), timeout=30) as line:
        line.sendall(text.encode("latin-1"))
        found = b""
        while more := line.recv(65536):
            found += more
    return found


@pytest.mark.parametrize("path", [*PAGES, "/nope", "/openapi.json", "/docs", "/api/stock"])
def test_an_unpaired_phone_sees_nothing(served: Served, path: str) -> None:
    """No page, no list of pages, not even the shop's name."""
    with served.client() as stranger:
        answer = stranger.get(path)
    assert answer.status_code == 401
    assert not SHOP.search(answer.text)


def test_a_pairing_is_a_safe_cookie(served: Served) -> None:
    """Out of reach of scripts and of other sites' forms."""
    code = phones.new_code(served.site.folder, "Ada", datetime.now(UTC))
    with served.client() as new:
        answer = new.post("/pair", data={"code": code.lower(), "name": "barn"})
        cookie = answer.headers["set-cookie"].lower()
        assert "httponly" in cookie
        assert "samesite=lax" in cookie
        assert new.get("/").status_code == 200
    secret = cookie.split("=")[1].split(";")[0]
    kept = served.site.folder / phones.FILE
    assert secret not in kept.read_text().lower()
    assert kept.stat().st_mode & 0o777 == 0o600


def test_a_code_opens_once_and_ten_minutes(served: Served) -> None:
    """A used or an old code pairs nobody."""
    folder, now = served.site.folder, datetime.now(UTC)
    code = phones.new_code(folder, "Ada", now)
    assert phones.pair(folder, f"{code[:4]}-{code[4:]}", "one", now)[0].person == "Ada"
    with pytest.raises(RuleBroken):
        phones.pair(folder, code, "two", now)
    old = phones.new_code(folder, "Ada", now)
    with pytest.raises(RuleBroken):
        phones.pair(folder, old, "two", now + timedelta(minutes=10))


def test_guesses_of_a_code_end_it(served: Served) -> None:
    """Ten wrong guesses, and not even the right code pairs; a new one does."""
    folder, now = served.site.folder, datetime.now(UTC)
    code = phones.new_code(folder, "Ada", now)
    with served.client() as stranger:
        guesses = {stranger.post("/pair", data={"code": f"{n:08}"}).status_code for n in range(40)}
        assert guesses == {409}
        assert stranger.post("/pair", data={"code": code}).status_code == 409
        assert stranger.get("/").status_code == 401
    assert phones.phones(folder) == []
    assert phones.pair(folder, phones.new_code(folder, "Ada", now), "new", now)


def test_a_dismissed_phone_sees_nothing(served: Served, phone: httpx.Client) -> None:
    """At once, though it still has its cookie."""
    phones.dismiss(served.site.folder, "barn")
    assert phone.get("/").status_code == 401


@pytest.mark.parametrize("host", ["evil.example", "127.0.0.1.evil.example", "", "127.0.0.1@evil"])
def test_a_forged_host_is_refused(served: Served, phone: httpx.Client, host: str) -> None:
    """Another name for this machine gets nothing: no page elsewhere reads ours by rebinding."""
    answer = phone.get("/", headers={"host": host})
    assert answer.status_code in (400, 421)
    assert not SHOP.search(answer.text)


def test_two_hosts_are_refused(served: Served) -> None:
    """One of them would lie."""
    told = raw(
        served,
        "GET / HTTP/1.1\r\nHost: 127.0.0.1\r\nHost: evil.example\r\nConnection: close\r\n\r\n",
    )
    assert told.split()[1] in (b"400", b"421")


@pytest.mark.parametrize("token", ["", "0" * 64, None])
def test_a_form_without_the_phones_token_enters_nothing(
    served: Served, phone: httpx.Client, token: str | None
) -> None:
    """A page elsewhere can send a form with the cookie, but not with the token."""
    fields = form(phone.get(f"/lot/{LOT}/weigh").text, f"/lot/{LOT}/weigh")
    fields |= {"bars": "4", "mass": "400", "token": token or ""}
    if token is None:
        del fields["token"]
    with served.site.open() as desk, desk.ledger.read() as reader:
        before = len(reader.entries(None, None))
    assert phone.post(f"/lot/{LOT}/weigh", data=fields).status_code == 403
    with served.site.open() as desk, desk.ledger.read() as reader:
        assert len(reader.entries(None, None)) == before


def test_every_form_asks_for_the_token(served: Served, phone: httpx.Client) -> None:
    """No address that takes something forgot to."""
    from fastapi.routing import APIRoute

    from soapstock.page.app import routers

    takes = {
        route.path
        for router in routers()
        for route in router.routes
        if isinstance(route, APIRoute) and "POST" in route.methods
    }
    assert len(takes) >= 4
    for path in sorted(takes - {"/pair"}):
        where = path.replace("{code}", LOT).replace("{key}", "weigh").replace("{pot}", "0" * 32)
        assert phone.post(where.replace("{n}", "0"), data={"key": "k" * 32}).status_code == 403


def test_another_sites_form_is_refused(phone: httpx.Client) -> None:
    """Whatever it carries."""
    fields = form(phone.get(f"/lot/{LOT}/weigh").text, f"/lot/{LOT}/weigh")
    fields |= {"bars": "4", "mass": "400"}
    for head in ({"origin": "http://evil.example"}, {"sec-fetch-site": "cross-site"}):
        assert phone.post(f"/lot/{LOT}/weigh", data=fields, headers=head).status_code == 403


@pytest.mark.parametrize(
    "path",
    [
        "/static/../app.py",
        "/static/%2e%2e/app.py",
        "/static/..%2f..%2fshop.py",
        "/lot/..%2f..%2fetc%2fpasswd",
        "/static/%00",
        "/lot/%00",
        "/lot/" + "A" * 5000,
        "/shelf?place=%00%ff",
        "/scan?code=%00%0a",
    ],
)
def test_tricks_with_a_path_get_nothing(served: Served, phone: httpx.Client, path: str) -> None:
    """Neither a file nor a crash."""
    secret = phone.cookies["soapstock_phone"]
    told = raw(
        served,
        f"GET {path} HTTP/1.1\r\nHost: 127.0.0.1\r\nCookie: soapstock_phone={secret}\r\n"
        "Connection: close\r\n\r\n",
    )
    status = int(told.split()[1])
    assert status in (200, 400, 404), told[:200]
    assert b"import" not in told
    assert b"root:" not in told


def test_a_huge_body_is_refused(served: Served, phone: httpx.Client) -> None:
    """Said or unsaid, it is not read to its end."""
    fields = {"note": "x" * 70_000}
    assert phone.post(f"/lot/{LOT}/weigh", data=fields).status_code == 413

    def drip() -> object:
        for _ in range(100):
            yield b"a" * 1000

    kind = {"content-type": "application/x-www-form-urlencoded"}
    answer = phone.post(f"/lot/{LOT}/weigh", content=drip(), headers=kind)  # type: ignore[arg-type]
    assert answer.status_code == 413


def test_every_page_forbids_what_it_does_not_need(phone: httpx.Client) -> None:
    """No script but our own file, no frame, nothing from outside."""
    for path in PAGES:
        answer = phone.get(path)
        policy = answer.headers["content-security-policy"]
        assert policy.startswith("default-src 'none'; script-src 'self'; style-src 'self'")
        assert "unsafe" not in policy
        assert answer.headers["cache-control"] == "no-store"
        assert not re.search(r"<script>|style=|onclick|https?://(?!www\.w3\.org)", answer.text)


def test_the_log_holds_nothing_of_the_shop(
    served: Served, phone: httpx.Client, capfd: pytest.CaptureFixture[str]
) -> None:
    """Neither a question nor a crash writes a customer's name down."""
    for path in PAGES:
        phone.get(path)
    (served.site.folder / "shop.toml").write_text("maker = 'Secret Person'\nnonsense = [")
    phone.get("/")
    told = capfd.readouterr()
    assert told.out + told.err == ""


def test_a_pairing_file_that_is_damaged_opens_nothing(served: Served, phone: httpx.Client) -> None:
    """And says how to mend it."""
    Path(served.site.folder / phones.FILE).write_text("{")
    answer = phone.get("/")
    assert answer.status_code in (400, 401, 500)
    assert not SHOP.search(answer.text)
