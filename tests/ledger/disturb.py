"""Kill, interrupt or fail every writing command at one of its system calls: the full count.

    python -m tests.ledger.disturb kill --times 500 [--postgres] [--seed 1]
    python -m tests.ledger.disturb interrupt --times 250
    python -m tests.ledger.disturb fault --times 150

The commands are those of tests/ledger/test_both_databases.py that write, in its order, so that a
new command is disturbed without being named here. Each round runs one of them in a process of its
own under strace, which holds it at the Nth of its writing calls for a SIGKILL or SIGINT, or lets it
fail. Then the shop is looked at: the audit finds nothing, the command's entries are there all or
none, and what was said of them is true; now and then the command is sent again, and must then be
done. All happens in a temporary folder, on a copy of the demo shop.
"""

from __future__ import annotations

import argparse
import os
import random
import re
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

from soapstock.ledger.keep.audit import check_rows
from soapstock.ledger.keep.transfer import copy_to
from soapstock.ledger.store import open_ledger
from soapstock.upkeep.demo import build_demo
from tests.ledger import throwaway_postgres
from tests.ledger.test_both_databases import LINES, TODAY, name_of, words_of

FILE_CALLS = "pwrite64,write,fdatasync,fsync,rename,renameat,ftruncate,link,unlink"
NET_CALLS = f"sendto,recvfrom,{FILE_CALLS}"  # of one that talks to a server
STRACE = ("strace", "-f", "--seccomp-bpf", "-qq")  # only the calls named are stopped at
SIGNALS = {"kill": signal.SIGKILL, "interrupt": signal.SIGINT}  # strace cannot send them then
HELD_TICKS = 8  # of 10 ms: other stops are over in less
ERRORS = ("ENOSPC", "EIO", "EACCES", "EDQUOT")
CLOCK_WRITES = {"move-to", "backup", "migrate"}  # they write a ledger, not only an entry or a paper


@dataclass
class Tally:
    """What happened over all rounds."""

    rounds: int = 0
    disturbed: int = 0
    made: int = 0
    sent_again: int = 0
    by_command: Counter[str] = field(default_factory=Counter)

    def __str__(self) -> str:
        return (
            f"{self.disturbed} of {self.rounds} commands were disturbed; {self.made} had made "
            f"their entry, {self.sent_again} were sent again; by command {dict(self.by_command)}"
        )


@dataclass(frozen=True)
class Shop:
    """A shop on either database, with a way back to how it was."""

    folder: Path
    url: str

    @property
    def out(self) -> Path:
        """Where its commands write their papers."""
        return self.folder / "out"

    def entries(self) -> int:
        """Number of entries; raises when the ledger does not open or the audit finds anything."""
        with open_ledger(self.url) as ledger, ledger.read() as reader:
            entries, _, problems = check_rows(reader)
            assert problems == [], problems
            return entries

    def keep(self) -> None:
        """Keep the shop as it is."""
        shutil.rmtree(self.folder.with_name("kept"), ignore_errors=True)
        shutil.copytree(self.folder, self.folder.with_name("kept"))
        if self.url.startswith("postgresql"):
            self._copy("shop", "kept")

    def put_back(self) -> None:
        """Make the shop what it was when it was kept."""
        shutil.rmtree(self.folder)
        shutil.copytree(self.folder.with_name("kept"), self.folder)
        if self.url.startswith("postgresql"):
            self._copy("kept", "shop")

    def _copy(self, source: str, target: str) -> None:
        import psycopg

        with psycopg.connect(self.url.rpartition("/")[0] + "/postgres", autocommit=True) as server:
            server.execute(f"DROP DATABASE IF EXISTS {target} WITH (FORCE)")
            server.execute(
                "SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = %s",
                (source,),
            )
            server.execute(f"CREATE DATABASE {target} TEMPLATE {source}")


@contextmanager
def shop_on(postgres: bool, demo: Path | None = None) -> Iterator[Shop]:
    """A demo shop in a temporary folder, on a file or on a server of its own."""
    with tempfile.TemporaryDirectory(prefix="soapstock-disturb-") as work:
        folder = Path(work) / "shop"
        if demo:
            shutil.copytree(demo, folder)
        else:
            build_demo(folder)
        (folder / "out" / "proofs").mkdir(parents=True)
        (folder / "out" / "bars.csv").write_text("net_g\n114\n113.5\n115\n", encoding="utf-8")
        notes = "date,soap,tallow,lye\n2025-10-01,Ebb,700g,96g\n"
        (folder / "out" / "notes.csv").write_text(notes, encoding="utf-8")
        (folder / "out" / "run.csv").write_text("lot,copies\nDRF-26241-AZ,2\n", encoding="utf-8")
        if not postgres:
            yield Shop(folder, f"sqlite:///{folder / 'ledger.db'}")
            return
        with throwaway_postgres.server() as server:
            import psycopg

            with psycopg.connect(server, autocommit=True) as connection:
                connection.execute("CREATE DATABASE shop")
            url = server.rpartition("/")[0] + "/shop"
            with open_ledger(f"sqlite:///{folder / 'ledger.db'}") as ledger:
                copy_to(ledger, url)
            (folder / "ledger.db").unlink()
            settings = (folder / "shop.toml").read_text(encoding="utf-8")
            settings = re.sub(r'(?m)^database = "[^"]*"', f'database = "{url}"', settings)
            (folder / "shop.toml").write_text(settings, encoding="utf-8")
            yield Shop(folder, url)


def command(
    shop: Shop, line: str, how: Sequence[str] = (), at_stop: int = 0
) -> subprocess.CompletedProcess[str]:
    """Run a command in a process of its own, in the shop's folder, perhaps under strace.

    Args:
        at_stop: signal to send when strace holds it at a call; 0 sends none.
    """
    words = [sys.executable, "-m", "soapstock", "--shop", str(shop.folder), *TODAY]
    env = os.environ | {"PYTHONPATH": str(Path(__file__).parents[2]), "NO_COLOR": "1"}
    whole = [*how, *words, *words_of(line, shop.out)]
    with subprocess.Popen(
        whole,
        cwd=shop.out,
        env=env,
        text=True,
        errors="replace",
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        start_new_session=True,
    ) as running:
        try:
            if at_stop:
                _at_stop(running.pid, at_stop)
            out, err = running.communicate(timeout=60)
        except subprocess.TimeoutExpired:
            os.killpg(running.pid, signal.SIGKILL)  # what strace follows holds the pipes too
            raise
    return subprocess.CompletedProcess(whole, running.returncode, out, err)


def _at_stop(strace: int, sent: int) -> None:
    """Send a signal to what strace follows as soon as it is held at a call, if ever it is."""
    held = 0
    while held < HELD_TICKS:
        time.sleep(0.01)
        try:
            child = int(Path(f"/proc/{strace}/task/{strace}/children").read_text().split()[0])
            states = [
                (task / "stat").read_text().rpartition(")")[2].split()[0]
                for task in Path(f"/proc/{child}/task").iterdir()
            ]
        except (OSError, IndexError):  # not begun yet, or at its end
            if Path(f"/proc/{strace}/stat").read_text().rpartition(")")[2].split()[0] == "Z":
                return
            continue
        held = held + 1 if "t" in states else 0
    os.kill(child, sent)


def at_call(mode: str, made: Counter[str], chance: random.Random) -> list[str]:
    """The strace that holds it at one of the calls that write, or lets that one fail.

    Args:
        made: the calls that the command makes when nothing disturbs it, by name.
    """
    if mode == "fault":
        call = chance.choice(sorted(made))
        on = "" if call == "write" else chance.choice(["", "+"])
        error = "ECONNRESET" if call in {"sendto", "recvfrom"} else chance.choice(ERRORS)
        what, calls, number = f"error={error}", call, chance.randint(1, made[call])
    else:
        calls, on, number = ",".join(made), "", chance.randint(1, made.total())
        what = "delay_enter=2000000"  # it is held there, for _at_stop
    return [
        *STRACE,
        "-o",
        "/dev/null",
        "-e",
        f"trace={calls}",
        "-e",
        f"inject={calls}:{what}:when={number}{on}",
    ]


def look(
    shop: Shop, line: str, mode: str, told: subprocess.CompletedProcess[str], before: int, adds: int
) -> bool:
    """Whether the command made its entries; raises where what it left or said is not so."""
    after = shop.entries()
    said = f"{mode} of {line}: exit {told.returncode}, {before} entries and {adds} to come are "
    said += f"{after}\n{told.stdout[-500:]}\n{told.stderr[-2000:]}"
    assert after in {before, before + adds}, said
    made = after > before
    assert "Traceback" not in told.stderr, said
    assert told.returncode not in {1, -11}, said
    # a stop within `exec` ends `python -m` by the signal, though we told of it
    spoke = told.returncode > 0 or (told.returncode == -signal.SIGINT and told.stderr != "")
    if told.returncode == 0:
        assert made or not adds, said
    elif spoke and made:
        assert "stand" in told.stderr or not told.stderr, said
        assert "no entry was made" not in told.stderr, said
        assert "do it again" not in told.stderr, said
    elif spoke:
        sure = r"(?<!look whether )entr(y|ies) [\d, ]+ stands?\b"
        assert not re.search(sure, told.stderr), said
    elif told.returncode == -signal.SIGINT:
        assert not made, said
    return made


@dataclass(frozen=True)
class Undisturbed:
    """What a line of a command does when nothing disturbs it: entries, calls that write."""

    line: str
    adds: int
    calls: Counter[str]


def writing(shop: Shop, lines: Sequence[str]) -> list[Undisturbed]:
    """The lines that write, each run once, in their order."""
    shop.keep()
    calls = NET_CALLS if shop.url.startswith("postgresql") else FILE_CALLS
    noted = shop.folder.with_name("calls")
    strace = [*STRACE, "-e", f"trace={calls}", "-e", "signal=none", "-o", str(noted)]
    found = []
    for line in lines:
        before, papers = shop.entries(), set(shop.out.iterdir())
        done = command(shop, line, strace)
        adds = shop.entries() - before
        if done.returncode == 0 and (
            adds or set(shop.out.iterdir()) - papers or name_of(line) in CLOCK_WRITES
        ):
            made = re.findall(r"(?m)^\d+ +(\w+)\(", noted.read_text(errors="replace"))
            found.append(Undisturbed(line, adds, Counter(made)))
    shop.put_back()
    return found


def disturb(
    mode: str, times: int, *, postgres: bool, seed: int, few: bool = False, demo: Path | None = None
) -> Tally:
    """So many disturbed commands, spread evenly over all that write.

    Args:
        few: only a few of the commands.
        demo: a demo shop that is there already, to be copied.
    """
    chance, tally = random.Random(seed), Tally()
    with shop_on(postgres, demo) as shop:
        known = writing(shop, FEW if few else LINES)
        for place, each in enumerate(known):
            shop.keep()
            before = shop.entries()
            due = times * (place + 1) // len(known)
            while tally.disturbed < due and tally.rounds < 4 * times:
                how = at_call(mode, each.calls, chance)
                told = command(shop, each.line, how, SIGNALS.get(mode, 0))
                weigh_up(shop, each, before, mode, told, chance, tally)
                shop.put_back()
            if each is not known[-1]:
                command(shop, each.line)
            if not few:
                sys.stdout.write(f"{tally.disturbed} after {name_of(each.line)}\n")
                sys.stdout.flush()
    return tally


FEW = (
    "order ship HS-41",
    "pour EBB --have beef-tallow=300g --as-planned",
)


def weigh_up(
    shop: Shop,
    each: Undisturbed,
    before: int,
    mode: str,
    told: subprocess.CompletedProcess[str],
    chance: random.Random,
    tally: Tally,
) -> None:
    """Look at what a disturbed command left, and now and then send it again."""
    line, adds = each.line, each.adds
    made = look(shop, line, mode, told, before, adds)
    tally.rounds += 1
    if told.returncode == 0:
        return  # it did not mind
    tally.disturbed += 1
    tally.made += made
    tally.by_command[name_of(line)] += 1
    if not made and chance.random() < 0.25 and name_of(line) != "move-to":
        again = command(shop, line)
        assert again.returncode == 0, f"{line} cannot be sent again: {again.stderr}"
        assert shop.entries() == before + adds
        tally.sent_again += 1


def main() -> int:
    """Disturb, and say how often."""
    parser = argparse.ArgumentParser(description="Disturb every writing command.")
    parser.add_argument("mode", choices=["kill", "interrupt", "fault"])
    parser.add_argument("--times", type=int, default=100)
    parser.add_argument("--postgres", action="store_true")
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    done = disturb(given.mode, given.times, postgres=given.postgres, seed=given.seed)
    sys.stdout.write(f"{given.mode}: {done}\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
