"""Kill real commands at random points and reopen: the full count, by its own command.

    python tests/ledger/crash.py --times 500 [--seed 1]

Each round forks a process that runs one soapstock command on a shop, kills it (SIGKILL) after a
random part of the time that command usually takes, and reopens the shop: what the command had
acknowledged must be there, what it had not must be there wholly or not at all, the audit must find
nothing, and no backup, copy or print may be half. What replaces a whole ledger (restore, migrate)
leaves the old one or the new one; what can be sent again (a key, migrate, start) is sent again and
must then be done, once. A killed process is not a power cut: what the operating system
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
import sqlite3
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from soapstock.cli.frame.app import app
from soapstock.ledger.base import schema
from soapstock.ledger.keep.audit import audit
from soapstock.ledger.keep.backup import backups, verify
from soapstock.ledger.store import open_ledger
from soapstock.upkeep.demo import build_demo
from tests.ledger.next_schema import migrations

MIGRATIONS = schema.MIGRATIONS
DAY = "2026-11-20"
Command = tuple[str, ...]


@dataclass(frozen=True)
class Trial:
    """A command to kill, and what it may leave.

    Attributes:
        words: the command; SHOP stands for the shop's folder.
        adds: entries it adds, all or none of them.
        before: what is done to the shop first.
        after: what must hold beside the ledger itself; told whether the command said done.
        again: run it once more after the kill; it must then be done, and once only.
    """

    words: Command
    adds: int = 1
    before: Callable[[Path], None] = lambda _: None
    after: Callable[[Path, bool], None] = lambda _, __: None
    again: bool = False

    @property
    def name(self) -> str:
        """What it is called in the tally."""
        command = self.words[2 if self.words[0] == "--key" else 0]
        told = ("--key", "--rebatch", "--record-anyway", "--force")
        how = [word[2:] for word in self.words if word in told]
        return " ".join([command, *how, "no ledger" if self.before is lost else ""]).strip()


def run(shop: Path, command: Command) -> int:
    """Run a command in this process; its exit code."""
    words = ["--shop", str(shop), "--today", DAY, "--by", "tester"]
    words += [word.replace("SHOP", str(shop)) for word in command]
    with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(io.StringIO()):
        try:
            app(words, prog_name="soapstock")
        except SystemExit as end:
            return int(end.code or 0)
    return 0


def state(shop: Path) -> int:
    """Number of entries; raises when the ledger does not open or the audit finds anything."""
    with open_ledger(f"sqlite:///{shop / 'ledger.db'}") as ledger, ledger.read() as reader:
        found = audit(reader)
        assert found.problems == (), found.problems
        return found.entries


def bars_lot(shop: Path) -> tuple[str, str]:
    """A batch with bars on a rack or shelf, and where they are."""
    with open_ledger(f"sqlite:///{shop / 'ledger.db'}") as ledger, ledger.read() as reader:
        best = max((s for s in reader.stock() if s.unit == "bars"), key=lambda s: s.quantity)
        return best.lot_code, best.place


def trials(shop: Path) -> list[Trial]:
    """Commands that write entries, and commands that copy, replace or make whole ledgers."""
    lot, place = bars_lot(shop)
    with open_ledger(f"sqlite:///{shop / 'ledger.db'}") as ledger, ledger.read() as reader:
        lots = reader.ingredient_lots()
    fat = max(lots, key=lambda f: f.left_mg).lot_code
    raw = next(f.lot_code for f in lots if f.ingredient == "raw-beef-tallow")
    pour = ("pour", "EBB", "--fat", "60g", "--as-planned")
    heavy = ("-w", "naoh=16g", "--record-anyway", "crash test")
    return [
        Trial(("weigh", lot, "300 g", "--bars", "3")),
        Trial(("test", lot, "--method", "tongue", "--pass")),
        Trial(("hold", lot, "--why", "crash test")),
        Trial(("waste", fat, "1 mg", "--why", "crash test")),
        Trial(("count", lot, place, "20", "--note", "crash test")),
        Trial(("receive", "lard", "--mass", "1 kg", "--supplier", "Invented Farm")),
        Trial(("retain", lot, "1", "--from", place)),
        Trial(("render", "beef-tallow", "--mass", "8g", "--from", f"{raw}=10g")),
        Trial(("want", "add", "Waiter", "DRF=2")),
        Trial(("recipe", "retire", "DRF", "--why", "crash test")),
        Trial(("want", "order"), adds=4, before=waited_for),  # two orders, two off the list
        Trial(pour),
        Trial((*pour, "--rebatch", f"{lot}=1:120g")),
        Trial((*pour, *heavy), adds=2),  # the pour and its hold, in one transaction
        Trial(("label", lot, "--copies", "2", "--count", "--out", "SHOP/run.pdf"), after=pdf_whole),
        Trial(
            ("--key", "KEY", "receive", "lard", "--mass", "1 kg", "--supplier", "Farm"), again=True
        ),
        Trial(("backup",), adds=0),
        Trial(("move-to", "sqlite:///SHOP/copy.db"), after=copy_whole),
        Trial(("restore", "SHOP/older.db", "--force"), adds=0, before=newer_than_backup),
        Trial(("restore", "SHOP/older.db"), adds=0, before=lost),
        Trial(("restore", "SHOP/older.db", "--force"), adds=0, before=damaged),
        Trial(("migrate",), adds=0, before=old_schema, again=True),
        Trial(("start", "SHOP/other", "--maker", "Example"), adds=0, after=start_again),
    ]


def pdf_whole(shop: Path, done: bool) -> None:
    """The labels are there when the command said so, and never half."""
    path = shop / "run.pdf"
    assert path.exists() or not done
    if path.exists():
        assert path.read_bytes().rstrip().endswith(b"%%EOF")
        path.unlink()


def copy_whole(shop: Path, done: bool) -> None:
    """The copy is there whole, or not at all; the old book is closed only if it is."""
    copy, entries = shop / "copy.db", state(shop)
    with open_ledger(f"sqlite:///{shop / 'ledger.db'}") as ledger, ledger.read() as reader:
        closed = reader.moved() is not None
    assert closed or not done, "move-to said done, but the old book is open"
    assert copy.exists() or not closed, "the old book is closed, but there is no copy"
    if copy.exists():
        with open_ledger(f"sqlite:///{copy}") as ledger, ledger.read() as reader:
            assert reader.head()[0] == entries - closed
    if closed:
        assert run(shop, ("undo", "last")) == 0


def newer_than_backup(shop: Path) -> None:
    """One entry that the backup lacks."""
    assert run(shop, ("level", "lard", "1 kg")) == 0


def waited_for(shop: Path) -> None:
    """Two wait for bars that are there."""
    for who in ("Ann", "Bea"):
        assert run(shop, ("want", "add", who, "DRF=2")) == 0


def lost(shop: Path) -> None:
    """The ledger's file is gone."""
    for path in shop.glob("ledger.db*"):
        path.unlink()


def damaged(shop: Path) -> None:
    """The ledger's file is rubbish."""
    lost(shop)
    (shop / "ledger.db").write_bytes(b"rubbish" * 999)


def old_schema(shop: Path) -> None:
    """The program is one of the invented next schema, so the ledger is an old one."""
    shutil.rmtree(shop / "migrations", ignore_errors=True)
    schema.MIGRATIONS = migrations(shop)


def start_again(shop: Path, done: bool) -> None:
    """A shop made half can be made whole by the same command."""
    other = shop / "other"
    if not done:
        assert run(shop, ("start", str(other), "--maker", "Example")) in (0, 4)
    assert state(other) == 0
    shutil.rmtree(other)


@dataclass
class Tally:
    """What happened over all rounds."""

    rounds: int = 0
    acknowledged: int = 0
    saved_unacknowledged: int = 0
    nothing: int = 0
    seconds: float = 0.0
    by_command: Counter[str] = field(default_factory=Counter)


def one_round(shop: Path, trial: Trial, delay: float, tally: Tally) -> None:
    """Run, kill, reopen, compare."""
    words = tuple(f"key-{tally.rounds}" if word == "KEY" else word for word in trial.words)
    before, allowed = prepared(shop, trial)
    said = killed(shop, words, delay)
    done = said == b"\0"
    assert said in {b"", b"\0"}, f"{words} ended with code {said!r}"
    if trial.again:
        assert run(shop, words) == 0, f"{words} cannot be run again after a kill"
        allowed = allowed[-1:]
    after = entries_left(shop, allowed)
    wanted = allowed[-1:] if done else allowed
    assert after in wanted, f"{words}: {before} entries became {after}, acknowledged: {done}"
    trial.after(shop, done)
    for path in backups(shop / "backups"):
        assert after is not None
        verify(path)
    tidy(shop)
    tally.rounds += 1
    tally.by_command[trial.name] += 1
    tally.acknowledged += done
    tally.saved_unacknowledged += not done and after != before
    tally.nothing += not done and after == before


def prepared(shop: Path, trial: Trial) -> tuple[int | None, list[int | None]]:
    """Entries before the command, and what there may be after it, the wholly done last."""
    schema.MIGRATIONS = MIGRATIONS
    trial.before(shop)
    restoring = trial.words[0] == "restore"
    unreadable = trial.before in (lost, damaged)
    if trial.words[0] == "migrate":
        with sqlite3.connect(shop / "ledger.db") as connection:
            before = connection.execute("SELECT count(*) FROM entry").fetchone()[0]
        connection.close()
        return before, [before]
    before = None if unreadable else state(shop)
    if restoring:
        return before, [before, verify(shop / "older.db")[0]]
    assert before is not None
    return before, [before, before + trial.adds] if trial.adds else [before]


def killed(shop: Path, words: Command, delay: float) -> bytes:
    """Run a command in a process of its own and kill it; its exit code as a byte, or nothing."""
    read_end, write_end = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            os.close(read_end)
            os.write(write_end, bytes([run(shop, words)]))
        finally:
            os._exit(0)  # whatever came up: two of us must not go on
    os.close(write_end)
    time.sleep(delay)
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    said = os.read(read_end, 1)
    os.close(read_end)
    return said


def entries_left(shop: Path, allowed: Sequence[int | None]) -> int | None:
    """Entries in the ledger; None when it is not there or is the rubbish it was before."""
    path = shop / "ledger.db"
    if None in allowed and (not path.exists() or path.read_bytes()[:7] == b"rubbish"):
        return None
    return state(shop)


def tidy(shop: Path) -> None:
    """Take away what a round leaves beside the ledger; put a ledger back where none is."""
    left = ("copy.db*", "backups/*", "before-restore/*", ".soapstock-*", "*.unreadable-*")
    for leftover in [path for pattern in left for path in shop.glob(pattern)]:
        shutil.rmtree(leftover) if leftover.is_dir() else leftover.unlink()


def usual_seconds(shop: Path, trial: Trial) -> float:
    """How long a command takes when nobody kills it, forked as in a round."""
    prepared(shop, trial)
    begun = time.perf_counter()
    child = os.fork()
    if child == 0:
        try:
            signal.alarm(60)
            os._exit(run(shop, trial.words))
        finally:
            os._exit(1)
    _, status = os.waitpid(child, 0)
    assert status == 0, f"{trial.words} fails even when nobody kills it"
    seconds = time.perf_counter() - begun
    trial.after(shop, True)
    return seconds


def crash(times: int, seed: int, limit_seconds: float) -> Tally:
    """So many rounds, or as many as fit the time; making the shop does not count."""
    chance, tally = random.Random(seed), Tally()
    with tempfile.TemporaryDirectory(prefix="soapstock-crash-") as work:
        shop, fresh = Path(work) / "shop", Path(work) / "fresh"
        build_demo(fresh)
        raw = ("receive", "raw-beef-tallow", "--mass", "5 kg", "--animal", "steer")
        assert run(fresh, raw) == 0
        assert run(fresh, ("backup",)) == 0
        shutil.move(backups(fresh / "backups")[0], fresh / "older.db")

        def anew() -> None:
            shutil.rmtree(shop, ignore_errors=True)
            shutil.copytree(fresh, shop)

        def usually(row: Trial) -> float:
            anew()
            prepared(shop, row)
            run(shop, row.words)  # so that its modules are loaded: a kill then hits the work
            anew()
            return usual_seconds(shop, row)

        rows, usual = trials(fresh), dict[int, float]()
        dirty, begun = True, time.perf_counter()
        while tally.rounds < times and time.perf_counter() - begun < limit_seconds:
            number = chance.randrange(len(rows))
            if number not in usual:
                usual[number], dirty = usually(rows[number]), True
            if dirty or tally.rounds % 40 == 0:  # begin anew, so that no lot runs out
                anew()
            one_round(shop, rows[number], chance.uniform(0, 1.2) * usual[number], tally)
            dirty = rows[number].words[0] in ("restore", "migrate")
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
