"""Every command block of the README runs as written, in order, in one shell.

The tour's commands share one warm process; the demo runs in one of its own.
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from tests.conftest import CHECKOUT
from tests.one_process import put_on_path

README = (CHECKOUT / "README.md").read_text(encoding="utf-8")
BLOCKS = re.findall(r"^```sh\n(.*?)^```$", README, re.MULTILINE | re.DOTALL)
SETUP = [block for block in BLOCKS if "-m venv" in block]
TOUR = [block for block in BLOCKS if "-m venv" not in block]


def shell(script: str, folder: Path, tools: Path) -> subprocess.CompletedProcess[str]:
    """Run a script with bash, the tools on the path, stopping at the first failure."""
    environment = os.environ | {
        "PATH": f"{tools}:{os.environ['PATH']}",
        "PYTHONPATH": str(CHECKOUT),
        "SAMPLE_DATA": str(CHECKOUT / "sample_data"),
    }
    return subprocess.run(
        ["bash", "-euo", "pipefail", "-c", script],
        cwd=folder,
        env=environment,
        capture_output=True,
        text=True,
        check=False,
        timeout=200,
    )


@pytest.fixture(scope="module")
def toured(
    tmp_path_factory: pytest.TempPathFactory,
) -> tuple[Path, subprocess.CompletedProcess[str]]:
    """The README's tour, run once from its first block to its last."""
    folder = tmp_path_factory.mktemp("tour")
    tools = tmp_path_factory.mktemp("bin")
    with put_on_path(tools):
        return folder, shell("\n".join(TOUR), folder, tools)


def test_the_tour_runs_as_written(
    toured: tuple[Path, subprocess.CompletedProcess[str]],
) -> None:
    """No command of the tour fails."""
    _, done = toured
    assert done.returncode == 0, done.stdout[-2000:] + done.stderr


def test_the_tour_leaves_its_prints(
    toured: tuple[Path, subprocess.CompletedProcess[str]],
) -> None:
    """The tour's PDFs are there and are PDFs."""
    folder, _ = toured
    for name in ("ebb-sheet.pdf", "card.pdf", "labels.pdf"):
        assert (folder / name).read_bytes().startswith(b"%PDF")


def test_the_tour_refuses_nothing_silently(
    toured: tuple[Path, subprocess.CompletedProcess[str]],
) -> None:
    """Nothing was told on standard error."""
    assert toured[1].stderr == ""


def test_there_are_two_setup_commands() -> None:
    """One sets up and runs the demo, one sets up and runs the tests."""
    assert [("soapstock demo" in block, "pytest" in block) for block in SETUP] == [
        (True, False),
        (False, True),
    ]


def test_the_demo_runs(tmp_path: Path) -> None:
    """`soapstock demo`, in a process of its own, builds the shop and says where its prints are."""
    command = tmp_path / "soapstock"
    command.write_text(f'#!/bin/sh\nexec "{sys.executable}" -m soapstock "$@"\n', encoding="utf-8")
    command.chmod(0o755)
    done = shell("soapstock demo", tmp_path, tmp_path)
    assert done.returncode == 0, done.stderr
    assert len(list((tmp_path / "soapstock-demo" / "print").glob("*.pdf"))) == 4
    assert "Curing on 2026-11-20" in done.stdout


def test_ci_runs_the_readmes_test_command() -> None:
    """.ci/run takes its test command from this README."""
    ci = (CHECKOUT / ".ci" / "run").read_text(encoding="utf-8")
    assert "<!-- test command -->" in ci
    assert "<!-- test command -->" in README
