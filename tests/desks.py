"""A desk at the demo shop on its fixed day."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from soapstock.desk.desk import Desk, open_desk
from soapstock.upkeep.demo import DEMO_DAY

NOW = datetime(2026, 11, 20, 12, tzinfo=UTC)


@pytest.fixture
def desk(demo_shop: Path) -> Iterator[Desk]:
    """The demo shop, free to be changed."""
    with open_desk(demo_shop, today=DEMO_DAY, now=NOW, by="tester") as opened:
        yield opened


@pytest.fixture
def moneyless(moneyless_once: Path, tmp_path: Path) -> Iterator[Desk]:
    """The demo shop before anybody counted money, free to be changed."""
    folder = tmp_path / "moneyless"
    shutil.copytree(moneyless_once, folder)
    with open_desk(folder, today=DEMO_DAY, now=NOW, by="tester") as opened:
        yield opened


@pytest.fixture
def empty(new_shop: Path) -> Iterator[Desk]:
    """A new, empty shop."""
    with open_desk(new_shop, today=DEMO_DAY, now=NOW, by="tester") as opened:
        yield opened


def on(desk: Desk, day: str) -> Desk:
    """The same desk on another day."""
    return replace(desk, today=date.fromisoformat(day))
