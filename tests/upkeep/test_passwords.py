"""A database's password is never printed, however the URL is written or mistyped."""

from __future__ import annotations

import itertools
from dataclasses import replace
from pathlib import Path

import pytest

from soapstock.errors import SoapstockError
from soapstock.ledger.base.engine import parse_url, shown
from soapstock.ledger.store import open_ledger
from soapstock.shop import Shop
from soapstock.upkeep.ledger import setting_for

SECRET = "s3cr3tw0rd"
HEADS = ("postgresql://", "postgres://", "postgresql+psycopg://", "postgresql//", "postgresql:/")
HEADS += ("postgresql:", "postgresql :// ", " postgresql://", "pg://", "")
TAILS = (
    "u:{}@127.0.0.1:1/db",
    "u:{}@127.0.0.1:1:2/db",
    "u:{}",
    "u:{}@[::1/db",
    "u%3A{}@127.0.0.1:1/db",
    "u:x@{}@127.0.0.1:1/db",
    "127.0.0.1:1/db?user=u&password={}",
    "127.0.0.1:1/db?PASSWORD={}&sslmode=disable",
    "/host=127.0.0.1 port=1 password={}",
    "u:{}@127.0.0.1:1/db\n",
    "127.0.0.1:1/u:{}@db",
    "u:{}@127.0.0.1:port/db",
)
FORMS = [head + tail.format(SECRET) for head, tail in itertools.product(HEADS, TAILS)]


def said_of(url: str, folder: Path) -> str:
    """All that the program says of a URL: opened, moved to, or set in shop.toml."""
    said: list[str] = []
    shop = replace(Shop(folder=folder, maker="M"), database=url)
    asked = (
        lambda: shown(parse_url(url)),
        lambda: setting_for(url),
        lambda: str(open_ledger(url)),
        lambda: str(open_ledger(shop.database_url)),
    )
    for ask in asked:
        try:
            said.append(ask())
        except SoapstockError as err:
            said += [err.message, err.hint]
    return "\n".join(said)


@pytest.mark.parametrize("url", FORMS)
def test_no_form_of_url_shows_its_password(url: str, tmp_path: Path) -> None:
    """Well-formed, mistyped, in the query, in libpq's own form: neither shown nor crashed on."""
    assert SECRET not in said_of(url, tmp_path)


def test_the_forms_are_a_hundred() -> None:
    """As many as were asked for."""
    assert len(set(FORMS)) >= 100


def test_a_url_without_a_secret_is_shown_whole() -> None:
    """Host, port, user and database are what a maker checks."""
    url = "postgresql://anna@db.example:5433/shop"
    assert shown(parse_url(url)) == url
