"""The season lived again: what the maker must see, what must always hold, and the keys it took."""

from __future__ import annotations

import os
from collections.abc import Iterator
from unittest.mock import patch

import pytest

from soapstock.upkeep import ledger
from tests.season.keys import JOBS, table
from tests.season.played import Season, play, shop_in


@pytest.fixture(scope="module")
def season(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Season]:
    """The season, played once; it says by itself what it must see after each command."""
    folder = shop_in(tmp_path_factory.mktemp("season") / "shop")
    with patch.dict(os.environ, {"COLUMNS": "80", "NO_COLOR": "1"}):
        yield play(folder)


def test_the_season_is_lived_to_its_end(season: Season) -> None:
    """At least 300 facts by command; the ledger is sound, all bars are accounted for."""
    with season.desk() as desk:
        audit = ledger.audit(desk)
    assert audit.problems == ()
    assert audit.entries >= 300


def test_no_command_crashed_or_told_of_itself(season: Season) -> None:
    """What is refused is refused in words."""
    for line, told in season.said:
        assert "Traceback" not in told, line
        assert "unexpected" not in told, line


def test_lines_fit_eighty_columns(season: Season) -> None:
    """Nothing a maker reads runs over the screen."""
    for line, told in season.said:
        assert max(map(len, told.splitlines()), default=0) <= 80 or "soapstock: " in told, line


@pytest.mark.parametrize("job", JOBS)
def test_everyday_jobs_take_few_keys(season: Season, job: str) -> None:
    """No more than last time it was counted; the table stands in tests/season/keys.py."""
    before, most = JOBS[job]
    assert season.acts[job].keys <= most < before, table(season.acts)
