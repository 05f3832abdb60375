"""A few of the kills of tests/ledger/crash.py, so that every run has some."""

import pytest

from tests.ledger import crash

KILLS = 5


@pytest.mark.parametrize("seed", [20261125])
def test_killed_commands_lose_nothing_and_leave_nothing_half_done(seed):
    """Acknowledged entries are there, others wholly or not at all, and the audit finds nothing."""
    tally = crash.crash(KILLS, seed, limit_seconds=120)
    assert tally.rounds > 0
    assert tally.acknowledged + tally.saved_unacknowledged + tally.nothing == tally.rounds
