"""What is said when a command is stopped or cannot print: whether the entry stands, never less."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from soapstock.ledger.store import open_ledger

LOT = "DRF-26241-AZ"
SHIP = ("ship", LOT, "1", "--to", "Žofie")
STOP = """
import os, signal, sys
where = sys.argv.pop(1)
stop = lambda *_: os.kill(os.getpid(), signal.SIGINT)
if where.startswith("import "):
    def find_spec(name, *_):
        if name == where.split()[1]:
            stop()
    sys.meta_path.insert(0, type("Finder", (), {"find_spec": staticmethod(find_spec)}))
if where == "before":
    from soapstock.ledger.write.core import WriterCore
    enter = WriterCore.enter
    WriterCore.enter = lambda *a, **k: (enter(*a, **k), stop())[0]
if where == "after":
    from soapstock.ledger.store import Ledger
    close = Ledger.close
    Ledger.close = lambda self: (stop(), close(self))[1]
if where == "full":
    def full(*_):
        raise OSError(28, "No space left on device")
    os.replace = full
from soapstock.__main__ import main
main()
"""


def start(
    shop: Path, *words: str, code: str = "", **how: object
) -> subprocess.CompletedProcess[str]:
    """A command in a process of its own."""
    at = [sys.executable, "-c", code or "from soapstock.__main__ import main; main()"]
    env = os.environ | {"PYTHONIOENCODING": "utf-8"} | dict(how.pop("env", {}))  # type: ignore[call-overload]
    line = [*at, *([words[0]] if code else []), "--shop", str(shop), "--today", "2026-11-20"]
    rest = words[1:] if code else words
    given: dict[str, object] = {"stdout": subprocess.PIPE, "timeout": 60, **how}
    return subprocess.run(  # type: ignore[call-overload, no-any-return]
        [*line, *rest], stderr=subprocess.PIPE, text=True, env=env, check=False, **given
    )


def entries(shop: Path) -> int:
    """How many entries the shop's ledger holds."""
    with open_ledger(f"sqlite:///{shop / 'ledger.db'}") as ledger, ledger.read() as reader:
        return reader.head()[0]


@pytest.mark.parametrize(("where", "more"), [("before", 0), ("after", 1)])
def test_a_stopped_command_says_whether_its_entry_stands(
    demo_shop: Path, where: str, more: int
) -> None:
    """The ledger is looked at; nobody is told to do a thing again that is done."""
    before = entries(demo_shop)
    told = start(demo_shop, where, *SHIP, code=STOP)
    assert entries(demo_shop) == before + more
    said = f"entry {before + 1} stands" if more else "no entry was made"
    assert told.returncode == 2
    assert "stopped" in told.stderr
    assert said in told.stderr
    assert "Traceback" not in told.stderr


@pytest.mark.parametrize("loading", ["atexit", "logging", "typer"])
def test_a_stop_while_the_program_still_loads_is_silent(demo_shop: Path, loading: str) -> None:
    """Nothing was begun, so the signal ends it without a word, from the first import on."""
    told = start(demo_shop, f"import {loading}", *SHIP, code=STOP)
    assert told.returncode == -signal.SIGINT
    assert told.stderr == ""


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs /dev/full")
def test_a_full_disk_under_the_output_does_not_ask_for_it_again(demo_shop: Path) -> None:
    """The entry is saved; only the telling failed."""
    before = entries(demo_shop)
    with Path("/dev/full").open("w") as full:
        told = start(demo_shop, *SHIP, stdout=full)
    assert entries(demo_shop) == before + 1
    assert told.returncode == 2
    assert f"entry {before + 1} stands" in told.stderr
    assert "do it again" not in told.stderr
    assert "Traceback" not in told.stderr


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs /dev/full")
@pytest.mark.parametrize("words", [("--help",), ("stock", "--json"), ("--version",), ("lots",)])
def test_no_traceback_when_nothing_can_be_printed(demo_shop: Path, words: tuple[str, ...]) -> None:
    """One line instead."""
    with Path("/dev/full").open("w") as full:
        told = start(demo_shop, *words, stdout=full)
    assert told.returncode == 2
    assert "Traceback" not in told.stderr
    assert "Exception ignored" not in told.stderr


def test_an_entry_is_made_with_the_output_closed(demo_shop: Path) -> None:
    """Nobody listens; the fact is entered all the same."""
    before = entries(demo_shop)
    told = start(demo_shop, *SHIP, stdout=None, preexec_fn=lambda: os.close(1))
    assert (told.returncode, told.stderr) == (0, "")
    assert entries(demo_shop) == before + 1


@pytest.mark.parametrize("encoding", ["ascii", "latin-1", "cp437"])
def test_an_output_without_the_letter_shows_its_number(demo_shop: Path, encoding: str) -> None:
    """A name in another alphabet is no crash after the entry was saved."""
    told = start(demo_shop, *SHIP, env={"PYTHONIOENCODING": encoding})
    assert told.returncode == 0
    assert "\\u017dofie" in told.stdout


def test_an_argument_that_is_no_text_is_refused_at_the_door(demo_shop: Path) -> None:
    """Bytes that are no UTF-8."""
    told = start(demo_shop, "move", LOT, "1", "--to", os.fsdecode(b"\xff"))
    assert told.returncode == 2
    assert "is not UTF-8" in told.stderr


def test_entries_that_stand_are_told_when_a_later_step_fails(demo_shop: Path) -> None:
    """Holds are written before the list of customers cannot be."""
    before = entries(demo_shop)
    where = str(demo_shop / "c.csv")
    words = ("recall", LOT, "--hold", "--why", "w", "--customers", where)
    told = start(demo_shop, "full", *words, code=STOP)
    assert told.returncode == 2
    assert entries(demo_shop) > before
    assert f"entry {entries(demo_shop)} stands" in told.stderr
    assert not (demo_shop / "c.csv").exists()


@pytest.mark.parametrize("day", ["9999-12-31", "0001-01-01", "1900-01-01"])
def test_a_day_no_shop_ever_sees_is_refused(demo_shop: Path, day: str) -> None:
    """A slip of the finger in a year is not an entry, and not a crash."""
    told = start(demo_shop, "--today", day, "curing")
    assert told.returncode == 2
    assert day in told.stderr


@pytest.mark.parametrize(
    "words", [("entries", "--last", "9" * 25), ("recipe", "show", "DRF", "--version", "9" * 25)]
)
def test_a_number_too_long_for_any_ledger_is_refused(
    demo_shop: Path, words: tuple[str, ...]
) -> None:
    """It is told, not crashed upon."""
    told = start(demo_shop, *words)
    assert told.returncode in (0, 2, 3)
    assert "unexpected" not in told.stderr


ENDLESS = """
import resource, sys
resource.setrlimit(resource.RLIMIT_AS, (int(sys.argv.pop(1)),) * 2)
from soapstock.__main__ import main
main()
"""


@pytest.mark.skipif(not Path("/dev/zero").exists(), reason="needs /dev/zero")
@pytest.mark.parametrize(
    "words",
    [
        ("scan",),
        ("check", "claims", "-"),
        ("check", "claims", "/dev/zero"),
        ("move-to", "-"),
        ("recipe", "add", "/dev/zero"),
        ("order", "import", "/dev/zero"),
        ("restore", "/dev/zero", "--force"),
        ("scan", "--picture", "/dev/zero"),
        ("label-run", "/dev/zero"),
        ("check", "net-weight", "/dev/zero", "--declared", "113g", "--lot-size", "3"),
        ("--key", "K", "recipe", "add", "/dev/zero"),
        ("order", "add"),
    ],
)
def test_an_endless_stream_is_refused_within_a_gigabyte(
    demo_shop: Path, words: tuple[str, ...]
) -> None:
    """Whatever reads from outside reads no further than its limit."""
    with Path("/dev/zero").open() as zeros:
        told = start(demo_shop, str(10**9), *words, code=ENDLESS, stdin=zeros)
    assert told.returncode in (2, 3, 6), told.stderr
    assert "unexpected" not in told.stderr


def test_codes_that_are_no_text_are_told_one_by_one(demo_shop: Path, tmp_path: Path) -> None:
    """A scanner gone mad does not end the loop."""
    (tmp_path / "codes").write_bytes(b"\xff\xfe\n" + LOT.encode() + b"\n")
    with (tmp_path / "codes").open() as codes:
        told = start(demo_shop, "scan", stdin=codes)
    assert told.returncode == 0
    assert "DRF-26241-AZ  " in told.stdout
