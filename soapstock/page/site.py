"""What every page is given: the shop, the clock, the words; and one visit of one paired phone."""

from __future__ import annotations

import hashlib
import hmac
import re
import secrets
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import jinja2
from fastapi import Request
from fastapi.responses import HTMLResponse
from starlette.datastructures import UploadFile

from soapstock.codes.lot import validate, with_hyphens
from soapstock.desk.desk import Desk, open_desk
from soapstock.desk.phones import Phone
from soapstock.errors import BadInput, RuleBroken
from soapstock.page.memory import Memory, T
from soapstock.page.words import say
from soapstock.units import day_words, mass_words

HERE = Path(__file__).parent
COOKIE = "soapstock_phone"
FIELD_KEY, FIELD_TOKEN, FIELD_AT, FIELD_BY = "key", "token", "at", "by"
WAITED_AT_MOST = timedelta(days=60)


def _now() -> datetime:
    return datetime.now(UTC)


def _pages() -> jinja2.Environment:
    found = jinja2.Environment(
        loader=jinja2.FileSystemLoader(HERE / "templates"),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    found.globals |= {"t": say, "new_key": new_key}
    found.filters |= {"lots": with_hyphens, "mass": mass_words, "day": day_words, "is_lot": _is_lot}
    return found


def _is_lot(text: str) -> bool:
    """Whether a text is a lot code: a step may be about a place, a recipe or an order."""
    try:
        return bool(validate(text))
    except BadInput:
        return False


def new_key() -> str:
    """A name for an entry that nobody gave before."""
    return secrets.token_hex(16)


def is_key(text: str) -> bool:
    """Whether a text may name an entry."""
    return re.fullmatch(r"[0-9A-Za-z]{8,64}", text) is not None


@dataclass(frozen=True, slots=True, kw_only=True)
class Site:
    """One served shop.

    Attributes:
        folder: the shop's folder.
        hosts: names and addresses it may be asked for by, without the port.
        pinned: answer as of this day; None answers as of the day it is.
        https: it is served with a certificate.
        clock: the instant it is, UTC.
        address: where phones reach it, such as `http://192.0.2.7:8300`.
    """

    folder: Path
    hosts: frozenset[str]
    pinned: date | None = None
    https: bool = False
    clock: Callable[[], datetime] = _now
    address: str = ""
    pages: jinja2.Environment = field(default_factory=_pages)
    memory: Memory = field(default_factory=Memory)

    def today(self) -> date:
        """The local day it is, or is said to be."""
        return self.pinned or self.clock().astimezone().date()

    @contextmanager
    def open(
        self, by: str = "", *, key: str | None = None, said: str = "", at: datetime | None = None
    ) -> Iterator[Desk]:
        """Open the shop for one question or one entry.

        Args:
            by: who enters.
            key, said: the sender's name of the entry, and a digest of what is sent under it.
            at: when it was entered on the phone; None for now.
        """
        with open_desk(
            self.folder, today=self.today(), now=at or self.clock(), by=by, key=key, said=said
        ) as desk:
            yield desk

    def ask(self, name: str, view: Callable[[Desk], T]) -> T:
        """What a view says of the shop as it is now; `name` tells one question from another."""
        return self.memory.ask(name, view, self.open())

    def shown(self, template: str, **values: Any) -> str:
        """A page as HTML."""
        return self.pages.get_template(template).render(values)


@dataclass(frozen=True, slots=True, kw_only=True)
class Visit:
    """One request of a paired phone."""

    site: Site
    phone: Phone
    path: str

    @property
    def token(self) -> str:
        """What every form of this phone carries, and no other page can know."""
        return form_token(self.phone)

    def page(self, template: str, *, status: int = 200, **values: Any) -> HTMLResponse:
        """Answer with a page."""
        html = self.site.shown(
            template,
            phone=self.phone,
            token=self.token,
            path=self.path,
            today=self.site.today(),
            **values,
        )
        return HTMLResponse(html, status_code=status)


def form_token(phone: Phone) -> str:
    """The token of a phone's forms, made of its secret's digest, which stays on this machine."""
    return hmac.new(phone.digest.encode(), b"soapstock form", hashlib.sha256).hexdigest()


def visit(request: Request) -> Visit:
    """The visit of a request that the guard let in."""
    phone = request.state.phone
    if not isinstance(phone, Phone):
        raise TypeError("a page was reached without a paired phone")
    return Visit(site=request.app.state.site, phone=phone, path=request.url.path)


@dataclass(frozen=True, slots=True, kw_only=True)
class Given:
    """What a form sent, checked to be this phone's own.

    Attributes:
        key: the sender's name for the entry.
        at: when it was entered on the phone, when it waited there; else None.
    """

    texts: Mapping[str, str]
    key: str
    said: str
    at: datetime | None

    def text(self, name: str) -> str:
        """What a field holds, without blanks around it; empty when it was not sent."""
        return self.texts.get(name, "").strip()


class Forged(RuleBroken):
    """A form that did not come from a page of this phone."""


def _own_form(phone: object, token: str) -> Phone:
    """The phone whose form bears that token. Raises Forged."""
    if isinstance(phone, Phone):
        wanted = form_token(phone).encode()
        if hmac.compare_digest(token.encode("utf-8", "replace"), wanted):
            return phone
    raise Forged(say("error.forged"))


async def picture(request: Request) -> bytes:
    """The picture a form sent. Raises Forged as `given` does; BadInput when there is none."""
    async with request.form(max_files=1, max_fields=10, max_part_size=20_000) as sent:
        token, found = sent.get(FIELD_TOKEN, ""), sent.get("picture")
        _own_form(request.state.phone, token if isinstance(token, str) else "")
        return await _picture(found)


async def _picture(found: object) -> bytes:
    if not isinstance(found, UploadFile) or not found.size:
        raise BadInput(say("error.no_picture"))
    return await found.read()


async def given_picture(request: Request) -> tuple[Given, bytes]:
    """The texts and the picture of a form. Raises as `given` and `picture` do."""
    async with request.form(max_files=1, max_fields=10, max_part_size=20_000) as sent:
        texts = {name: value for name, value in sent.items() if isinstance(value, str)}
        found = _given(request, texts)
        return found, await _picture(sent.get("picture"))


async def given(request: Request) -> Given:
    """The texts of a form. Raises Forged when it bears no or another phone's token."""
    async with request.form(max_files=0, max_fields=60, max_part_size=20_000) as sent:
        texts = {name: value for name, value in sent.items() if isinstance(value, str)}
    return _given(request, texts)


def _given(request: Request, texts: dict[str, str]) -> Given:
    phone = request.state.phone
    phone = _own_form(phone, texts.pop(FIELD_TOKEN, ""))
    by = texts.pop(FIELD_BY, "") or phone.person
    if by != phone.person:
        raise RuleBroken(say("error.other_person", by=by, person=phone.person))
    key = texts.get(FIELD_KEY, "").strip()
    if not is_key(key):
        raise BadInput(say("error.no_key"))
    meant = sorted((name, text) for name, text in texts.items() if name != FIELD_AT)
    words = repr((request.url.path, phone.person, meant))
    return Given(
        texts=texts,
        key=key,
        said=hashlib.sha256(words.encode("utf-8", "replace")).hexdigest(),
        at=_entered_at(texts.get(FIELD_AT, ""), request.app.state.site.clock()),
    )


def _entered_at(text: str, now: datetime) -> datetime | None:
    """When a form was filled in, by the phone's clock; never later than now.

    Raises:
        BadInput: not a moment, or one so long ago that the phone's clock must be wrong.
    """
    if not text.strip():
        return None
    try:
        found = datetime.fromisoformat(text.strip())
        if found.utcoffset() is None:
            raise ValueError
    except ValueError:
        raise BadInput(say("error.no_moment", text=text[:40])) from None
    found = found.astimezone(UTC)
    if found < now - WAITED_AT_MOST:
        raise BadInput(say("error.too_old", day=found.date().isoformat()))
    return min(found, now)
