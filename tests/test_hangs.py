"""No test may wait for ever: each process it starts has a time by which it is stopped."""

import ast
from pathlib import Path

TESTS = Path(__file__).parent
RUNS_THE_TESTS = "throwaway_postgres.py"  # it is given a command to run, and stops with it


def timeless(path: Path) -> list[int]:
    """Lines that start a process and wait, with no timeout; one by the name of others passes."""
    return [
        call.lineno
        for call in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(call, ast.Call)
        and ast.unparse(call.func)
        in {"subprocess.run", "subprocess.check_output", "subprocess.check_call", "subprocess.call"}
        and not any(word.arg in {"timeout", None} for word in call.keywords)
    ]


def test_every_process_started_has_a_timeout() -> None:
    """The bench is run by hand and watched."""
    files = [f for f in TESTS.rglob("*.py") if "bench" not in f.parts and f.name != RUNS_THE_TESTS]
    assert {f.name: lines for f in files if (lines := timeless(f))} == {}


def test_a_process_without_a_timeout_is_seen(tmp_path: Path) -> None:
    """The check can fail."""
    (tmp_path / "a.py").write_text("subprocess.run(['x'])\nsubprocess.run(['x'], timeout=1)\n")
    assert timeless(tmp_path / "a.py") == [1]
