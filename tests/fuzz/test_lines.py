"""A small share of what `python -m tests.fuzz.lines` does in full; it stays in its cage."""

import os
import random
import subprocess
import sys
from pathlib import Path

from tests.fuzz.lines import command_line, commands, safe

CHECKOUT = Path(__file__).parents[2]


def test_random_command_lines_crash_nothing(demo_once: Path) -> None:
    """Exit codes of the list alone; a process, so that nobody's privileges are the tests' own."""
    words = [sys.executable, "-m", "tests.fuzz.lines", "--times", "30", "--seed", "20261126"]
    words += ["--copy-of", str(demo_once)]
    env = os.environ | {"PYTHONPATH": str(CHECKOUT)}
    told = subprocess.run(
        words, cwd=CHECKOUT, env=env, capture_output=True, text=True, timeout=200, check=False
    )
    assert told.returncode == 0, told.stdout + told.stderr
    assert "30 command lines" in told.stdout
    assert "; 0 failed" in told.stdout


def test_no_word_leads_out_of_the_cage() -> None:
    """No absolute path, no way upwards, in any form the options take."""
    chance, known = random.Random(3), list(commands())
    for _ in range(3000):
        for word in command_line(chance, *chance.choice(known)):
            assert not word.startswith(("/", "~"))
            assert "=/" not in word or not word.startswith("--")
            assert ".." not in word
    for word in ("/etc/x", "~/x", "--out=/etc/x", "a/../../x", "sqlite:////etc/x", "a\0"):
        assert not safe(word)
