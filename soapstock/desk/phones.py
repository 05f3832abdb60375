"""The phones that were paired with a shop, each for one person; kept in a file of the shop's.

A pairing is no fact of the shop, so it stands beside the ledger and not in it: a backup, a moved
ledger or a batch record opens nothing. The file holds digests alone, never a secret, and is its
owner's alone. Secrets come from the system's random source: a pairing code has 40 bits, stands for
ten minutes and opens once, and after ten wrong guesses every code is void.
"""

from __future__ import annotations

import fcntl
import hashlib
import hmac
import json
import os
import secrets
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import asdict, dataclass, field
from datetime import datetime, timedelta
from pathlib import Path

from soapstock.errors import BadInput, NotFound, RuleBroken, cannot_write
from soapstock.outfile import replacing

FILE = "phones.json"
CODE_LETTERS = "23456789ABCDEFGHJKLMNPQRSTUVWXYZ"  # 32 that are hard to mistake for each other
CODE_LENGTH = 8
CODE_STANDS = timedelta(minutes=10)
MOST_GUESSES = 10
MOST_PHONES = 50
_OWNER_ONLY = 0o600


@dataclass(frozen=True, slots=True, kw_only=True)
class Phone:
    """A paired phone.

    Attributes:
        name: what it is called here, such as `Ada's phone`; no two are called the same.
        person: whose entries it makes.
        since: ISO day it was paired.
        digest: SHA-256 of its secret.
    """

    name: str
    person: str
    since: str
    digest: str


@dataclass(frozen=True, slots=True, kw_only=True)
class _Code:
    """A pairing code that stands until a moment (ISO, UTC)."""

    digest: str
    person: str
    until: str


@dataclass(slots=True)
class _Kept:
    """What the file holds."""

    phones: list[Phone] = field(default_factory=list)
    codes: list[_Code] = field(default_factory=list)
    wrong: int = 0
    reader: str = ""


def phones(folder: Path) -> list[Phone]:
    """The phones paired with a shop, oldest first."""
    return _read(folder).phones


def phone_of(folder: Path, secret: str) -> Phone | None:
    """The phone with that secret, or None when none is paired with it, or it was dismissed."""
    digest = _digest(secret)
    found = None
    for phone in _read(folder).phones:
        if hmac.compare_digest(phone.digest, digest):
            found = phone
    return found


def new_code(folder: Path, person: str, now: datetime) -> str:
    """A new code that pairs one phone for a person within ten minutes.

    Raises:
        BadInput: nobody is named, or the file cannot be written.
    """
    if not person.strip() or not person.isprintable() or len(person) > 100:
        raise BadInput("a phone is paired for a named person", hint="say who will use it")
    code = "".join(secrets.choice(CODE_LETTERS) for _ in range(CODE_LENGTH))
    with _changing(folder) as kept:
        kept.codes = [old for old in kept.codes if datetime.fromisoformat(old.until) > now]
        until = (now + CODE_STANDS).isoformat()
        kept.codes.append(_Code(digest=_digest(code), person=person.strip(), until=until))
        kept.wrong = 0
    return code


def pair(folder: Path, code: str, name: str, now: datetime) -> tuple[Phone, str]:
    """Pair the phone that shows a code; the phone, and the secret it keeps.

    Raises:
        RuleBroken: no such code stands; after ten such guesses none stands any more.
        BadInput: the phone's name is not fit.
    """
    name = " ".join(name.split())[:40]
    if not name or not name.isprintable():
        raise BadInput("the phone has no name", hint="call it something, such as barn phone")
    digest = _digest(code.strip().upper().replace("-", "").replace(" ", ""))
    secret = secrets.token_urlsafe(32)
    with _changing(folder) as kept:
        hits = [one for one in kept.codes if hmac.compare_digest(one.digest, digest)]
        hits = [one for one in hits if datetime.fromisoformat(one.until) > now]
        if hits:
            taken = {phone.name for phone in kept.phones}
            if len(taken) >= MOST_PHONES:
                raise RuleBroken(f"{MOST_PHONES} phones are paired", hint="dismiss one first")
            name = next(n for n in _names(name) if n not in taken)
            phone = Phone(
                name=name,
                person=hits[0].person,
                since=now.date().isoformat(),
                digest=_digest(secret),
            )
            kept.phones.append(phone)
            kept.codes = [one for one in kept.codes if one not in hits]
            return phone, secret
        kept.wrong += 1
        if kept.wrong >= MOST_GUESSES:
            kept.codes = []
    raise RuleBroken(
        "that code pairs no phone", hint="a code stands ten minutes and opens once: ask for another"
    )


def dismiss(folder: Path, name: str) -> Phone:
    """Dismiss a phone: it sees nothing from now on. Raises NotFound."""
    with _changing(folder) as kept:
        gone = [phone for phone in kept.phones if phone.name == name]
        if not gone:
            known = ", ".join(phone.name for phone in kept.phones) or "none"
            raise NotFound(f"no phone called '{name}'", hint=f"paired are: {known}")
        kept.phones.remove(gone[0])
    return gone[0]


def new_reader_token(folder: Path) -> str:
    """A new secret that may read the shop's data and enter nothing; an older one opens no more."""
    secret = secrets.token_urlsafe(32)
    with _changing(folder) as kept:
        kept.reader = _digest(secret)
    return secret


def may_read(folder: Path, secret: str) -> bool:
    """Whether a secret is that of the shop's reader."""
    kept = _read(folder).reader
    return bool(kept) and hmac.compare_digest(kept, _digest(secret))


def _names(name: str) -> Iterator[str]:
    yield name
    yield from (f"{name} {n}" for n in range(2, MOST_PHONES + 3))


def _digest(secret: str) -> str:
    return hashlib.sha256(secret.encode("utf-8", "replace")).hexdigest()


def _read(folder: Path) -> _Kept:
    """What the file holds; nothing when there is none."""
    path = folder / FILE
    try:
        found = json.loads(path.read_text(encoding="utf-8"))
        return _Kept(
            phones=[Phone(**one) for one in found["phones"]],
            codes=[_Code(**one) for one in found["codes"]],
            wrong=int(found["wrong"]),
            reader=str(found["reader"]),
        )
    except FileNotFoundError:
        return _Kept()
    except (OSError, ValueError, TypeError, KeyError):
        raise BadInput(
            f"{path} cannot be read", hint="remove it and pair the phones anew: it is no fact"
        ) from None


@contextmanager
def _changing(folder: Path) -> Iterator[_Kept]:
    """What the file holds, to be changed: kept at the end, also when the change is refused."""
    path = folder / FILE
    lock = folder / f".{FILE}.lock"
    try:
        handle = os.open(lock, os.O_CREAT | os.O_RDWR | os.O_CLOEXEC, _OWNER_ONLY)
    except OSError as err:
        raise cannot_write(path, err) from err
    try:
        fcntl.flock(handle, fcntl.LOCK_EX)
        kept = _read(folder)
        yield kept
        with replacing(path, ".json") as fresh:
            os.chmod(fresh, _OWNER_ONLY)
            fresh.write_text(json.dumps(asdict(kept), indent=1), encoding="utf-8")
    finally:
        os.close(handle)
