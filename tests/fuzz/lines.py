"""Random command lines, made from the list of commands itself: a new option is covered unnamed.

    python -m tests.fuzz.lines --times 20000 [--seed 1]

Each runs in a process of its own, in a cage: a temporary folder is all it is told of (no word is an
absolute path or leads upwards), it is its home and its place for temporary files, and where we are
root the process becomes `nobody`, to whom only the cage belongs. Exit 1, a traceback, a signal,
300 MB of memory, 20 s of work or a broken ledger is a failure, and is printed with its line.
"""

from __future__ import annotations

import argparse
import io
import os
import pkgutil
import random
import resource
import shlex
import shutil
import signal
import sqlite3
import sys
import tempfile
from collections import Counter
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass, field
from importlib import import_module
from pathlib import Path
from typing import Any

import typer

import soapstock
from soapstock.cli.frame.app import app
from soapstock.cli.frame.commands import COMMANDS
from soapstock.errors import ExitCode
from soapstock.ledger.keep.audit import check_rows
from soapstock.ledger.store import open_ledger
from soapstock.tables.shipped import shipped_dir
from soapstock.upkeep.demo import build_demo
from tests.fuzz.inputs import ODD
from tests.ledger.test_both_databases import LINES, name_of

SERVES = {"page"}  # it ends only when it is stopped
MOST_KB, MOST_S = 300_000, 20
ENDS = {int(code) for code in ExitCode} - {int(ExitCode.CRASH)}
NOBODY = 65534
RENEWED = 100  # command lines in one shop
HEAD = ("--shop", "shop", "--today", "2026-11-20", "--by", "fuzz")

FILES = (
    "new.pdf new.csv new.png new.ics new.toml orders.csv ebb.toml run.csv bars.csv page.txt "
    "shop/shop.toml shop/ledger.db shop . none/new.pdf noise.bin old.pdf"
).split()
LOTS = ["DRF-26241-AZ", "DRF-26273-AY", "WRK-26276-AE", "BEE-26230-AC", "drf26241", "DRF-26241-AX"]
GOOD: dict[str, list[str]] = {
    "LOT=BARS": ["DRF-26241-AZ=3:350g"],
    "LOT=MASS": ["BEE-26230-AC=1kg"],
    "RECIPE=BARS": ["DRF=2", "EBB=1", "DRF=0", "XXX=1", "DRF=-1"],
    "NAME=MASS": ["beef-tallow=300g", "coconut=0.4kg", "naoh=90g", "water=10oz", "naoh=1e9kg"],
    "RECIPE": ["DRF", "EBB", "MUD", "drf", "XXX"],
    "CODE": ["DRF", "EBB", *LOTS],
    "LOT": LOTS,
    "ORDER": ["HS-41", "HS-42", "X-1"],
    "BARS": ["1", "3", "0", "-1", "500", "2.5"],
    "PLACE": ["rack", "shelf", "store", "customer", "mould", "rack-9"],
    "DATE": ["2026-11-20", "2026-09-01", "2027-02-29", "2026-12-01", "0001-01-01", "9999-12-31"],
    "MASS": ["1kg", "300g", "1 oz", "-5g", "1e400g", "0g", "5", "nan g", "1" * 30 + "kg"],
    "TEMP": ["40C", "100F", "-300C", "nan"],
    "URL": ["sqlite:///new.db", "sqlite:///shop/ledger.db", "postgresql://u:pw@127.0.0.1:1/x"],
    "FAT": ["coconut", "beef-tallow", "olive", "no-fat"],
    "DIR": ["new", "shop", ".", "backups"],
    "FILE": FILES,
    "ENTRY": ["3", "154", "last", "0", "99999"],
    "NAME": ["A. Customer", "Žofie", "x" * 300],
    "N": ["1", "0", "-1", "99999999999999999999"],
}
ANY = [word for words in GOOD.values() for word in words] + (
    "113g|30cm x 9cm x 6cm|33 % solution|1.8 per lye|90x60mm|us-soap|eu|fr|tongue|titration|0.03|"
    "because|257-259|letter-2x3|band|19C|0,0|nan,nan|1e9,1|farm|12.50|-0.01|%s|{0}|--|-|--json|"
    "--help|gift|wholesale|work|fair|batch|cash"
).split("|")


@dataclass
class Tally:
    """What the command lines gave."""

    times: int = 0
    codes: Counter[int] = field(default_factory=Counter)
    most_kb: int = 0
    most_s: float = 0.0
    done: set[str] = field(default_factory=set)
    failures: list[str] = field(default_factory=list)


def commands() -> Iterator[tuple[tuple[str, ...], list[Any]]]:
    """The words of each command, and its parameters."""
    root: Any = typer.main.get_command(app)
    for name in sorted(set(COMMANDS) - SERVES):
        node = root
        for word in name.split():
            node = node.get_command(typer.Context(node), word)
        yield tuple(name.split()), node.params


def command_line(chance: random.Random, words: tuple[str, ...], params: list[Any]) -> list[str]:
    """One command line of a command."""
    line = ["--shop", chance.choice(["shop"] * 30 + ["none"]), "--today", "2026-11-20"]
    line += [*(["--by", "fuzz"] if chance.random() < 0.8 else []), *words]
    if chance.random() < 0.05:
        line[4:4] = ["--key", value(chance, "KEY")]
    for param in params:
        if param.param_type_name == "argument":
            most = 3 if param.nargs == -1 else 1
            for _ in range(most):
                line += (
                    [value(chance, param.metavar or param.name)] if chance.random() < 0.85 else []
                )
        elif chance.random() < (0.9 if param.required else 0.2):
            flag = param.is_flag or param.name.startswith("as_")
            line += [chance.choice([*param.opts, *param.secondary_opts])]
            line += [] if flag else [value(chance, param.metavar or param.name)]
    return [word for word in line if safe(word)]


def spoilt_line(chance: random.Random, params: list[Any], known: str) -> list[str]:
    """A line that is known to be done, perhaps with some words changed."""
    line = shlex.split(known.format(out="out", samples="samples"))
    for _ in range(chance.choice([0, 1, 1, 1, 2, 3])):
        line = line or ["stock"]
        at = chance.randrange(len(line))
        luck = chance.random()
        if luck < 0.6:
            line[at] = value(chance, "")
        elif luck < 0.7:
            del line[at]
        elif luck < 0.8 or not params:
            line.append(line[at])
        else:
            param = chance.choice(params)
            line += [chance.choice([*param.opts, "x"]), value(chance, param.metavar or param.name)]
    return [word for word in [*HEAD, *line] if safe(word)]


def value(chance: random.Random, metavar: str) -> str:
    """A value such as a parameter asks for, or any other."""
    luck = chance.random()
    if luck < 0.6:
        for name, words in GOOD.items():
            if name in metavar.upper():
                return chance.choice(words)
    if luck < 0.85:
        return chance.choice(ANY)
    if luck < 0.95:
        return chance.choice([one for one in ODD if len(one) < 9000])
    return "".join(chr(chance.randrange(1, 0x2FFF)) for _ in range(chance.randrange(8)))


def safe(word: str) -> bool:
    """Whether a word can be an argument and leads nowhere out of the cage."""
    path = word.partition("=")[2] if word.startswith("--") else word
    leads_out = ".." in word or path.startswith(("/", "~")) or "sqlite:////" in word
    return not (leads_out or any(c == "\0" or "\ud800" <= c <= "\udfff" for c in word))


@contextmanager
def cage(shop: Path | None) -> Iterator[Path]:
    """A folder with a copy of a shop, else of the demo."""
    with tempfile.TemporaryDirectory(prefix="soapstock-cage-") as work:
        folder = Path(work)
        if shop:
            shutil.copytree(shop, folder / "demo")
        else:
            build_demo(folder / "demo")
        yield folder


def renew(folder: Path) -> Path:
    """A fresh place to work in."""
    place = folder / "place"
    shutil.rmtree(place, ignore_errors=True)
    shutil.copytree(folder / "demo", place / "shop")
    samples = shipped_dir("sample_data")
    shutil.copy(samples / "orders.csv", place)
    shutil.copy(samples / "recipes" / "ebb.toml", place)
    (place / "run.csv").write_text("lot,copies\nDRF-26241-AZ,2\n", encoding="utf-8")
    (place / "bars.csv").write_text("net_g\n114\n113.5\n115\n", encoding="utf-8")
    (place / "page.txt").write_text("Soap that heals.\n", encoding="utf-8")
    (place / "noise.bin").write_bytes(bytes(range(256)) * 20)
    (place / "old.pdf").write_bytes(b"%PDF-1.4\n")
    shutil.copytree(samples, place / "samples")
    (place / "out" / "proofs").mkdir(parents=True)
    shutil.copy(place / "run.csv", place / "out")
    shutil.copy(place / "bars.csv", place / "out")
    (place / "tmp").mkdir()
    if os.geteuid() == 0:
        for path in (folder, place, *place.rglob("*")):
            os.chown(path, NOBODY, NOBODY)
    return place


def preload() -> None:
    """Import all of the program, so that a forked process need not."""
    import_module("_strptime")  # what datetime loads when first asked
    for found in pkgutil.walk_packages(soapstock.__path__, "soapstock."):
        if ".migrations." not in found.name and not found.name.endswith("__main__"):
            with suppress(ImportError):  # an extra that is not installed
                import_module(found.name)
    for name in ("unicode_escape", "idna", "ascii", "latin-1", "utf-8-sig", "utf-16"):
        "".encode(name)  # nobody may not be allowed to load them


def play(place: Path, line: list[str]) -> tuple[int, str, resource.struct_rusage]:
    """Run a command line in a process of its own: how it ended, what it said, what it took."""
    said = place.parent / "said"
    said.write_bytes(b"")
    child = os.fork()
    if child == 0:
        _be_caged(place, line, said)
    _, status, used = os.wait4(child, 0)
    code = os.waitstatus_to_exitcode(status)
    return code, said.read_text(encoding="utf-8", errors="replace"), used


def _be_caged(place: Path, line: list[str], said: Path) -> None:
    """Become the process that runs the command line; never returns."""
    try:
        out = os.open(said, os.O_WRONLY | os.O_APPEND)
        nowhere = os.open(os.devnull, os.O_RDWR)
        os.dup2(nowhere, 0)
        os.dup2(nowhere, 1)
        os.dup2(out, 2)
        sys.stdin, sys.stdout, sys.stderr = (
            io.TextIOWrapper(open(number, mode, buffering=0, closefd=False), write_through=True)
            for number, mode in ((0, "rb"), (1, "wb"), (2, "wb"))
        )
        if os.geteuid() == 0:
            os.setgroups([])
            os.setgid(NOBODY)
            os.setuid(NOBODY)
        resource.setrlimit(resource.RLIMIT_CPU, (MOST_S, MOST_S + 1))
        os.chdir(place)
        os.environ.clear()
        home = str(place)
        os.environ |= {
            "HOME": home,
            "XDG_DATA_HOME": home,
            "TMPDIR": f"{home}/tmp",
            "COLUMNS": "80",
        }
        tempfile.tempdir = None
        signal.alarm(10 * MOST_S)
        sys.argv = ["soapstock", *line]
        from soapstock.__main__ import main

        main()
        os._exit(0)
    except SystemExit as end:
        code = end.code if isinstance(end.code, int) else 0 if end.code is None else 1
        with suppress(Exception):
            sys.stdout.flush()
        os._exit(code)
    except BaseException:
        import traceback

        os.write(2, traceback.format_exc().encode())
        os._exit(1)


def broken(place: Path, *, wholly: bool) -> str:
    """What is wrong with the ledger; empty if nothing.

    Args:
        wholly: let the audit read all of it, which takes longer than the command did.
    """
    path = place / "shop" / "ledger.db"
    try:
        with closing(sqlite3.connect(f"{path.as_uri()}?mode=rw", uri=True)) as db:
            count, newest = db.execute("SELECT count(*), max(id) FROM entry").fetchone()
            off = db.execute(
                "SELECT count(*) FROM (SELECT 1 FROM posting GROUP BY entry_id, lot_id, unit "
                "HAVING sum(quantity) <> 0)"
            ).fetchone()[0]
    except sqlite3.Error as error:
        return f"the ledger cannot be read: {error}"
    if (count, off) != (newest, 0):
        return f"{count} entries to {newest}, {off} unbalanced"
    if not wholly:
        return ""
    with open_ledger(f"sqlite:///{path}") as ledger, ledger.read() as reader:
        return "; ".join(problem.message for problem in check_rows(reader)[2])


def one(place: Path, line: list[str], tally: Tally, *, wholly: bool) -> bool:
    """Run one command line and note how it went; whether the shop must be made anew."""
    code, said, used = play(place, line)
    tally.times += 1
    tally.codes[code] += 1
    tally.most_kb = max(tally.most_kb, used.ru_maxrss)
    tally.most_s = max(tally.most_s, used.ru_utime + used.ru_stime)
    wrong = broken(place, wholly=wholly)
    fine = code in ENDS and "Traceback" not in said and used.ru_maxrss <= MOST_KB
    if wrong or not fine:
        told = f"exit {code}, {used.ru_maxrss} kB: {shlex.join(line)}"
        tally.failures.append(f"{told}\n{wrong}{said[-1500:]}")
        sys.stdout.write(f"FAILED {tally.failures[-1]}\n\n")
        sys.stdout.flush()
    return bool(wrong)


def fuzz(times: int, seed: int, shop: Path | None = None, most_failures: int = 30) -> Tally:
    """So many command lines; stops early when too many fail."""
    chance, tally, known = random.Random(seed), Tally(), list(commands())
    preload()
    with cage(shop) as folder:
        place = renew(folder)
        for number in range(1, times + 1):
            words, params = chance.choice(known)
            fit = [line for line in LINES if name_of(line) == " ".join(words)]
            line = command_line(chance, words, params)
            if fit and chance.random() < 0.5:
                line = spoilt_line(chance, params, chance.choice(fit))
            before = tally.codes[0]
            again = one(place, line, tally, wholly=number % RENEWED == 0)
            if tally.codes[0] > before and "--help" not in line:
                tally.done.add(" ".join(words))
            if len(tally.failures) >= most_failures:
                break
            if again or number % RENEWED == 0:
                place = renew(folder)
            if number % 500 == 0:
                sys.stdout.write(f"{number}: {dict(tally.codes)}, {len(tally.failures)} failed\n")
                sys.stdout.flush()
    return tally


def main() -> int:
    """Run and print what was found."""
    parser = argparse.ArgumentParser(description="Random command lines in a cage.")
    parser.add_argument("--times", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--copy-of", type=Path, help="a demo shop that is there already")
    given = parser.parse_args()
    tally = fuzz(given.times, given.seed, given.copy_of)
    sys.stdout.write(
        f"{tally.times} command lines: by exit code {dict(tally.codes)}; at most "
        f"{tally.most_kb / 1000:.0f} MB and {tally.most_s:.1f} s; {len(tally.failures)} failed; "
        f"{len(tally.done)} of {len(COMMANDS) - len(SERVES)} commands were done\n"
    )
    return 1 if tally.failures else 0


if __name__ == "__main__":
    sys.exit(main())
