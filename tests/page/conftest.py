"""The demo shop, served."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import httpx
import pytest

from tests.page.served import Served, serving


@pytest.fixture
def served(demo_shop: Path) -> Iterator[Served]:
    """The demo shop, served on this machine and free to be changed."""
    with serving(demo_shop) as found:
        yield found


@pytest.fixture
def phone(served: Served) -> Iterator[httpx.Client]:
    """A phone that is paired for Ada."""
    with served.phone() as found:
        yield found
