"""Kill real commands at random points and reopen: the full count, by its own command.

    python tests/ledger/crash.py --times 500 [--seed 1]

Each round forks a process that runs one soapstock command on a shop, kills it (SIGKILL) after a
random part of the time that command usually takes, and reopens the shop: what the command had
acknowledged must be there, what it had not must be there wholly or not at all, the audit must find
nothing, and no backup may be half. A killed process is not a power cut: what the operating system
had taken over is written. Against a power cut we rely on synchronous = FULL.
"""

from __future__ import annotations

import argparse
import contextlib
import io
import os
import random
import shutil
import signal
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

from soapstock.actions.demo import build_demo
from soapstock.cli.app import app
from soapstock.ledger import open_ledger
from soapstock.ledger.backup import backups, verify

Command = tuple[str, ...]


def run(shop: Path, command: Command) -> int:
    """Run a command in this process; its exit code."""
    words = ["--shop", str(shop), "--today", "2026-11-20", "--by", "tester", *command]
    with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(io.StringIO()):
        try:
            app(words, prog_name="soapstock")
        except SystemExit as end:
            return int(end.code or 0)
    return 0


def state(shop: Path) -> tuple[int, int]:
    """Number of entries and of findings; raises when the ledger does not open."""
    with open_ledger(f"sqlite:///{shop / 'ledger.db'}") as ledger, ledger.read() as reader:
        found = reader.audit()
        assert found.problems == (), found.problems
        return found.entries, len(found.problems)


def bars_lot(shop: Path) -> tuple[str, str]:
    """A batch with bars on a rack or shelf, and where they are."""
    with open_ledger(f"sqlite:///{shop / 'ledger.db'}") as ledger, ledger.read() as reader:
        best = max((s for s in reader.stock() if s.unit == "bars"), key=lambda s: s.quantity)
        return best.lot_code, best.place


def commands(shop: Path) -> list[Command]:
    """Commands that write, each of one entry, and two that copy the ledger."""
    lot, place = bars_lot(shop)
    with open_ledger(f"sqlite:///{shop / 'ledger.db'}") as ledger, ledger.read() as reader:
        fat = max(reader.ingredient_lots(), key=lambda f: f.left_mg).lot_code
    return [
        ("weigh", lot, "300 g", "--bars", "3"),
        ("test", lot, "--method", "tongue", "--pass"),
        ("hold", lot, "--why", "crash test"),
        ("waste", fat, "1 mg", "--why", "crash test"),
        ("count", lot, place, "20", "--note", "crash test"),
        ("receive", "lard", "--mass", "1 kg", "--supplier", "Invented Farm"),
        ("retain", lot, "1", "--from", place),
        ("backup",),
        ("move-to", f"sqlite:///{shop / 'copy.db'}"),
    ]


@dataclass
class Tally:
    """What happened over all rounds."""

    rounds: int = 0
    acknowledged: int = 0
    saved_unacknowledged: int = 0
    nothing: int = 0
    seconds: float = 0.0
    by_command: Counter[str] = field(default_factory=Counter)


def one_round(shop: Path, command: Command, delay: float, tally: Tally) -> None:
    """Run, kill, reopen, compare."""
    before, _ = state(shop)
    read_end, write_end = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(read_end)
        code = run(shop, command)
        os.write(write_end, bytes([code]))
        os._exit(0)
    os.close(write_end)
    time.sleep(delay)
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    said = os.read(read_end, 1)
    os.close(read_end)
    check(shop, command, before, said, tally)


def check(shop: Path, command: Command, before: int, said: bytes, tally: Tally) -> None:
    """What was acknowledged is there; nothing half-written is."""
    after, _ = state(shop)
    done = said == b"\0"
    assert said in {b"", b"\0"}, f"{command} ended with code {said!r}"
    copies = command[0] in {"backup", "move-to"}
    expected = {before} if copies else ({before + 1} if done else {before, before + 1})
    assert after in expected, f"{command}: {before} entries became {after}, acknowledged: {done}"
    for path in backups(shop / "backups"):
        assert verify(path)[0] <= after
    copy = shop / "copy.db"
    if copy.exists():
        with open_ledger(f"sqlite:///{copy}") as ledger, ledger.read() as reader:
            assert reader.head()[0] == before
    elif command[0] == "move-to":
        assert not done, "move-to said done, but there is no copy"
    for leftover in [*shop.glob("copy.db*"), *shop.glob("backups/*.db"), *shop.glob(".new*")]:
        shutil.rmtree(leftover) if leftover.is_dir() else leftover.unlink()
    tally.rounds += 1
    tally.by_command[command[0]] += 1
    tally.acknowledged += done
    tally.saved_unacknowledged += not done and after > before
    tally.nothing += not done and after == before


def usual_seconds(shop: Path, command: Command) -> float:
    """How long a command takes when nobody kills it, forked as in a round."""
    begun = time.perf_counter()
    child = os.fork()
    if child == 0:
        os._exit(run(shop, command))
    _, status = os.waitpid(child, 0)
    assert status == 0, f"{command} fails even when nobody kills it"
    return time.perf_counter() - begun


def crash(times: int, seed: int, limit_seconds: float) -> Tally:
    """So many rounds, or as many as fit the time."""
    chance, tally, begun = random.Random(seed), Tally(), time.perf_counter()
    with tempfile.TemporaryDirectory(prefix="soapstock-crash-") as work:
        shop = Path(work) / "shop"
        build_demo(shop)
        fresh = Path(work) / "fresh"
        shutil.copytree(shop, fresh)
        rows = commands(shop)
        usual = {row: usual_seconds(shop, row) for row in rows}
        while tally.rounds < times and time.perf_counter() - begun < limit_seconds:
            if tally.rounds % 40 == 0:  # begin anew, so that no lot runs out
                shutil.rmtree(shop)
                shutil.copytree(fresh, shop)
            row = chance.choice(rows)
            one_round(shop, row, chance.uniform(0, 1.2) * usual[row], tally)
    tally.seconds = time.perf_counter() - begun
    return tally


def main(words: Sequence[str] | None = None) -> int:
    """Run and print the tally."""
    parser = argparse.ArgumentParser(description="Kill soapstock commands at random points.")
    parser.add_argument("--times", type=int, default=500)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--limit", type=float, default=1800.0, help="seconds at the most")
    given = parser.parse_args(words)
    tally = crash(given.times, given.seed, given.limit)
    sys.stdout.write(
        f"{tally.rounds} kills in {tally.seconds:.0f} s: {tally.acknowledged} acknowledged and "
        f"kept, {tally.saved_unacknowledged} saved just before the kill, {tally.nothing} wholly "
        f"undone; by command {dict(tally.by_command)}\n"
    )
    return 0 if tally.rounds >= given.times else 1


if __name__ == "__main__":
    sys.exit(main())
