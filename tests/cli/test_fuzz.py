"""Any words after any command: never a traceback, never half an entry.

Many more, by hand: SOAPSTOCK_FUZZ_EXAMPLES=200 python -m pytest tests/cli/test_fuzz.py
"""

import os
import shutil
import sqlite3

import pytest
import typer
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from soapstock.cli.frame.app import app
from soapstock.errors import ExitCode
from tests.cli.test_help import commands

SKIPPED = {("demo",), ("start",)}  # they make folders where the words say
WRITING = sorted(set(commands(typer.main.get_command(app))) - SKIPPED)
EXAMPLES = int(os.environ.get("SOAPSTOCK_FUZZ_EXAMPLES", "6"))
WORDS = st.one_of(
    st.sampled_from(
        [
            "DRF-26241-AZ",
            "TAL-26230-AQ",
            "DRF",
            "olive",
            "5kg",
            "-5g",
            "1e9kg",
            "²",
            "9" * 30,
            "0",
            "-1",
            "nan",
            "rack",
            "shelf",
            "--on",
            "2026-11-01",
            "9999-12-31",
            "--mass",
            "--bars",
            "--why",
            "--by",
            "--to",
            "--from",
            "--json",
            "--csv",
            "../../etc/passwd",
            "=1+1",
            "\t",
            "DRF=3",
            "--lot",
            "--method",
            "tongue",
            "--pass",
            "--text",
            "1",
            "12",
            "beef-tallow",
            "--rebatch",
            "DRF-26241-AZ=3:350g",
            "TAL-26230-AQ=1kg",
            "EBB",
            "--as-planned",
            "--fat",
            "--count",
            "--copies",
            "--out",
            "out.pdf",
            "--supplier",
            "--declared",
            "113g",
            "--force",
            "HS-41",
            "--practice",
            "--because",
            "--undo",
            "\x1b[31m",
            "sqlite:///x.db",
            ".",
        ]
    ),
    st.text(st.characters(exclude_categories=("Cs",), exclude_characters="\0"), max_size=12),
)


def _rows(path):
    with sqlite3.connect(path) as connection:
        entries = connection.execute("SELECT count(*), max(id) FROM entry").fetchone()
        off = connection.execute(
            "SELECT count(*) FROM (SELECT 1 FROM posting GROUP BY entry_id, lot_id, unit "
            "HAVING sum(quantity) <> 0)"
        ).fetchone()
    connection.close()
    return entries, off[0]


@pytest.fixture(scope="module")
def shop(demo_once, tmp_path_factory):
    """A demo shop that the fuzzing may change."""
    folder = tmp_path_factory.mktemp("fuzz") / "shop"
    shutil.copytree(demo_once, folder)
    return folder


@pytest.mark.parametrize("command", WRITING, ids=" ".join)
@settings(
    max_examples=EXAMPLES,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(words=st.lists(WORDS, max_size=6))
def test_no_words_crash_a_command(run, shop, monkeypatch, tmp_path, command, words):
    """Exit codes only of the list, postings always balanced, ids without gaps."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr("uvicorn.Server.run", lambda *_, **__: None)  # it would serve for ever
    told = run("--shop", shop, "--today", "2026-11-20", "--by", "fuzz", *command, *words)
    assert told.code in {int(code) for code in ExitCode} - {int(ExitCode.CRASH)}, told.err
    assert "Traceback" not in told.err + told.out
    (count, newest), off = _rows(shop / "ledger.db")
    assert (count, off) == (newest, 0)
