"""A small share of what `python -m tests.ledger.disturb` does in full."""

import shutil
from pathlib import Path

import pytest

from tests.ledger import throwaway_postgres
from tests.ledger.disturb import disturb

pytestmark = pytest.mark.skipif(shutil.which("strace") is None, reason="needs strace")


@pytest.mark.parametrize("mode", ["kill", "interrupt", "fault"])
def test_disturbed_commands_lose_nothing_and_say_what_is(mode: str, demo_once: Path) -> None:
    """Entries all or none, the audit clean, the words true."""
    assert disturb(mode, 2, postgres=False, seed=3, few=True, demo=demo_once).disturbed == 2


@pytest.mark.postgres
@pytest.mark.skipif(throwaway_postgres.find_programs() is None, reason="needs PostgreSQL")
def test_disturbed_commands_lose_nothing_on_a_server(demo_once: Path) -> None:
    """Killed in the midst of talking to it."""
    assert disturb("kill", 1, postgres=True, seed=3, few=True, demo=demo_once).disturbed == 1
