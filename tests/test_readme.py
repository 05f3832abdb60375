"""Every command block of the README runs as printed, in order, in one shell, in a clone.

The clone is a folder with the sample data and the environment that the first block makes; nothing
else is lent. The demo runs in a process of its own, all other commands in one warm process.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.conftest import CHECKOUT
from tests.one_process import put_on_path

README = (CHECKOUT / "README.md").read_text(encoding="utf-8")
BLOCKS = re.findall(r"^```sh\n(.*?)^```$", README, re.MULTILINE | re.DOTALL)
SETUP = [block for block in BLOCKS if "-m venv" in block]
TOUR = [block for block in BLOCKS if "-m venv" not in block]
Done = subprocess.CompletedProcess[str]


def shell(script: str, folder: Path) -> Done:
    """Run a script with bash in a folder, stopping at the first failure."""
    return subprocess.run(
        ["bash", "-euo", "pipefail", "-c", script],
        cwd=folder,
        env={name: os.environ[name] for name in ("PATH", "HOME") if name in os.environ},
        capture_output=True,
        text=True,
        check=False,
        timeout=200,
    )


@pytest.fixture(scope="module")
def clone(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder as after the setup: sample data, and an environment with soapstock in it."""
    folder = tmp_path_factory.mktemp("clone")
    shutil.copytree(CHECKOUT / "sample_data", folder / "sample_data")
    tools = folder / ".venv" / "bin"
    tools.mkdir(parents=True)
    (tools / "activate").write_text(f'PATH="{tools}:$PATH"\n', encoding="utf-8")
    command = tools / "soapstock"
    command.write_text(
        f'#!/bin/sh\nPYTHONPATH="{CHECKOUT}" exec "{sys.executable}" -m soapstock "$@"\n',
        encoding="utf-8",
    )
    command.chmod(0o755)
    return folder


@pytest.fixture(scope="module")
def demo(clone: Path) -> Done:
    """What the first block runs once it has set up."""
    return shell(SETUP[0].rsplit("&&", 1)[1], clone)


@pytest.fixture(scope="module")
def toured(clone: Path, demo: Done) -> Iterator[Done]:
    """All other blocks, run once from the first to the last."""
    assert demo.returncode == 0
    with put_on_path(clone / ".venv" / "bin"):
        yield shell("\n".join(TOUR), clone)


def test_the_tour_runs_as_printed(toured: Done) -> None:
    """No command fails, and nothing is told on standard error."""
    assert toured.returncode == 0, toured.stdout[-2000:] + toured.stderr
    assert toured.stderr == ""


def test_the_tour_leaves_its_prints(clone: Path, toured: Done) -> None:
    """Each PDF that a block names is there and is a PDF."""
    del toured
    named = re.findall(r"[\w-]+\.pdf", "".join(TOUR))
    assert len(named) > 5
    for name in named:
        assert (clone / name).read_bytes().startswith(b"%PDF"), name


def test_one_pot_takes_ten_commands() -> None:
    """From the sheet to the scan of a sold bar there are ten commands, counted."""
    pot = next(block for block in TOUR if block.startswith("# 1 "))
    counted = [int(line.split()[1]) for line in pot.splitlines() if line.startswith("#")]
    assert counted == list(range(1, 11))
    assert sum(line.startswith("soapstock ") for line in pot.splitlines()) == 10


def test_there_are_two_setup_commands() -> None:
    """One sets up and runs the demo, one sets up and runs the tests."""
    assert [("soapstock demo" in block, "pytest" in block) for block in SETUP] == [
        (True, False),
        (False, True),
    ]


def test_the_demo_runs(clone: Path, demo: Done) -> None:
    """`soapstock demo`, in a process of its own, builds the shop and says where its prints are."""
    assert demo.returncode == 0, demo.stderr
    assert len(list((clone / "soapstock-demo" / "print").glob("*.pdf"))) == 4
    assert "Curing on 2026-11-20" in demo.stdout


def test_ci_runs_the_readmes_test_command() -> None:
    """.ci/run takes its test command from this README."""
    ci = (CHECKOUT / ".ci" / "run").read_text(encoding="utf-8")
    assert "<!-- test command -->" in ci
    assert "<!-- test command -->" in README
