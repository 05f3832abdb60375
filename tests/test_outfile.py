"""What the program writes replaces only what may be replaced, from the list of commands itself."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
import typer

from soapstock.cli.frame.app import app
from soapstock.errors import BadInput
from soapstock.outfile import LEFT_S, MARK, check_writable, replacing, work_folder

WRITES = {
    "--keep-map",
    "--out",
    "--pdf",
    "--png",
    "--sheet",
    "--pupil",
    "--pick",
    "--slip",
    "--customers",
    "--calendar",
    "--chart",
}
NO_FILE = {
    ("take-in", "--sheet"),
    ("label", "--sheet"),
    ("label-run", "--sheet"),
    ("recipe swap", "--out"),
}
LOT = "DRF-26241-AZ"
# a command line for each option that names a file to be written
LINES = {
    ("card", "--out"): ["card", LOT],
    ("label", "--out"): ["label", LOT],
    ("label-run", "--out"): ["label-run", "run.csv"],
    ("record", "--out"): ["record", LOT],
    ("cure", "--pdf"): ["cure", LOT],
    ("cure", "--png"): ["cure", LOT],
    ("rack", "--pdf"): ["rack"],
    ("plan", "--pdf"): ["plan"],
    ("plan", "--calendar"): ["plan"],
    ("take-in", "--keep-map"): ["take-in", "notes.csv"],
    ("season", "--pdf"): ["season"],
    ("journal", "--chart"): ["journal"],
    ("invoice give", "--out"): ["invoice", "give", "HS-36"],
    ("invoice credit", "--out"): ["invoice", "credit", "1", "--why", "wrong"],
    ("design calibrate", "--out"): ["design", "calibrate", "letter-2x3"],
    ("recipe scale", "--sheet"): ["recipe", "scale", "EBB", "--fat", "1kg"],
    ("recipe scale", "--pupil"): ["recipe", "scale", "EBB", "--fat", "1kg"],
    ("order pack", "--pick"): ["order", "pack", "HS-41"],
    ("order pack", "--slip"): ["order", "pack", "HS-41", "--pick", "pick.pdf"],
    ("recall", "--customers"): ["recall", LOT],
    ("check net-weight", "--out"): [
        "check", "net-weight", "bars.csv", "--declared", "113g", "--lot-size", "3"
    ],
}  # fmt: skip


def options(command: Any, words: str = "") -> Iterator[tuple[str, str]]:
    """Every command and option that names a file to be written."""
    context = typer.Context(command)
    if hasattr(command, "list_commands"):
        for name in command.list_commands(context):
            yield from options(command.get_command(context, name), f"{words} {name}".strip())
    else:
        for parameter in command.params:
            yield from ((words, name) for name in WRITES & set(parameter.opts))


def test_every_option_that_writes_a_file_is_tried_below() -> None:
    """A new one is covered, or this fails."""
    assert set(options(typer.main.get_command(app))) - NO_FILE == set(LINES)


@pytest.mark.parametrize(
    "target", ["ledger.db", "ledger.db-wal", "shop.toml", "folder.pdf", "l.pdf"]
)
@pytest.mark.parametrize("line", LINES, ids=" ".join)
def test_no_output_goes_over_the_ledger_or_the_shop(
    demo_shop: Path,
    run: Callable[..., Any],
    line: tuple[str, str],
    target: str,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Exit 2, one line, and every file is as it was."""
    monkeypatch.chdir(demo_shop)
    Path("run.csv").write_text(f"lot,copies\n{LOT},1\n", encoding="utf-8")
    Path("notes.csv").write_text("date,soap\n2025-10-01,Ebb\n", encoding="utf-8")
    Path("bars.csv").write_text("net_g\n113.6\n114.1\n113.2\n", encoding="utf-8")
    Path("folder.pdf").mkdir()
    Path("l.pdf").symlink_to("ledger.db")
    before = {p.name: p.read_bytes() for p in demo_shop.iterdir() if p.is_file()}
    words = ["--shop", ".", "--today", "2026-11-20", *LINES[line], line[1], target]
    told = run(*words)
    assert told.code == 2, told.err
    after = {p.name: p.read_bytes() for p in demo_shop.iterdir() if p.is_file()}
    after.pop("pick.pdf", None)
    assert after == before


def test_two_papers_are_not_written_over_each_other(
    demo_shop: Path, run: Callable[..., Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The slips would replace the pick list that was just written."""
    monkeypatch.chdir(demo_shop)
    words = ["order", "pack", "HS-41", "--pick", "x.pdf", "--slip", "./print/../x.pdf"]
    told = run("--shop", ".", "--today", "2026-11-20", *words)
    assert told.code == 2
    assert "both papers" in told.err
    assert not Path("x.pdf").exists()


def test_a_file_is_for_whom_the_umask_and_the_folder_say(tmp_path: Path) -> None:
    """Never wider than either."""
    for umask, folder, wanted in (
        (0o022, 0o755, 0o644),
        (0o077, 0o755, 0o600),
        (0o022, 0o700, 0o600),
    ):
        there = tmp_path / f"{umask:o}-{folder:o}"
        there.mkdir()
        there.chmod(folder)
        kept = os.umask(umask)
        try:
            with replacing(there / "a.csv", ".csv") as temporary:
                temporary.write_text("x", encoding="utf-8")
        finally:
            os.umask(kept)
        assert (there / "a.csv").stat().st_mode & 0o777 == wanted


def test_a_pipe_and_a_ledger_by_another_name_are_not_replaced(tmp_path: Path) -> None:
    """Neither a fifo nor a database called out.pdf."""
    os.mkfifo(tmp_path / "pipe.pdf")
    (tmp_path / "book.pdf").write_bytes(b"SQLite format 3\0 and more")
    (tmp_path / "photo.pdf").write_bytes(b"\xff\xd8\xff a picture")
    for name, said in (
        ("pipe.pdf", "not a plain file"),
        ("book.pdf", "is a ledger"),
        ("photo.pdf", r"is there and is no \.pdf file"),
    ):
        with pytest.raises(BadInput, match=said), replacing(tmp_path / name, ".pdf"):
            pass


def test_what_fails_half_way_leaves_the_old_file(tmp_path: Path) -> None:
    """And nothing beside it."""
    (tmp_path / "a.csv").write_text("old", encoding="utf-8")
    with pytest.raises(UnicodeEncodeError), replacing(tmp_path / "a.csv", ".csv") as temporary:
        temporary.write_text("new \udc80", encoding="utf-8")
    assert [(p.name, p.read_text(encoding="utf-8")) for p in tmp_path.iterdir()] == [
        ("a.csv", "old")
    ]


@pytest.mark.parametrize("ending", [".pdf", ".png", ".ics", ".csv", ".txt"])
def test_a_file_of_another_kind_stays_whatever_its_name(tmp_path: Path, ending: str) -> None:
    """What is in a file counts, not its name alone; a file begun and left empty may go."""
    (tmp_path / f"a{ending}").write_bytes(b"PK\3\4\0\0 an archive")
    with pytest.raises(BadInput, match="it stays"), replacing(tmp_path / f"a{ending}", ending):
        pass
    (tmp_path / f"b{ending}").touch()
    with replacing(tmp_path / f"b{ending}", ending):
        pass


def test_a_private_file_stays_private_when_it_is_written_anew(tmp_path: Path) -> None:
    """Whoever could not read it before cannot afterwards."""
    (tmp_path / "a.csv").write_text("old", encoding="utf-8")
    (tmp_path / "a.csv").chmod(0o600)
    with replacing(tmp_path / "a.csv", ".csv") as temporary:
        temporary.write_text("new", encoding="utf-8")
    assert (tmp_path / "a.csv").stat().st_mode & 0o777 == 0o600


@pytest.mark.parametrize("how", [work_folder, lambda f: replacing(f / "out.csv", ".csv")])
def test_what_killed_commands_left_is_swept(tmp_path: Path, how: Callable[[Path], Any]) -> None:
    """After a day; what is younger may be in use, and what is not ours stays."""
    then = os.stat(tmp_path).st_mtime - LEFT_S - 60
    for name in (
        f"{MARK}a/",
        f"{MARK}b.pdf",
        f"{MARK}young/",
        ".soapstock-demo",
        "soapstock-notes.txt",
        "mine/",
    ):
        path = tmp_path / name
        path.mkdir() if name.endswith("/") else path.touch()
        if "young" not in name:
            os.utime(path, (then, then))
    with how(tmp_path):
        pass
    left = {path.name for path in tmp_path.iterdir()} - {"out.csv"}
    assert left == {f"{MARK}young", ".soapstock-demo", "soapstock-notes.txt", "mine"}


def test_what_the_program_leaves_when_killed_is_what_it_sweeps() -> None:
    """Only outfile.py makes temporary files and folders, so all bear its mark."""
    rooms = Path(__file__).parents[1] / "soapstock"
    makers = ("tempfile", "mkdtemp", "mkstemp", '".part"', ".with_suffix(")
    found = {
        str(path.relative_to(rooms))
        for path in rooms.rglob("*.py")
        if any(maker in path.read_text(encoding="utf-8") for maker in makers)
    }
    assert found == {"outfile.py"}


def test_nothing_that_is_to_stay_bears_the_mark(demo_shop: Path) -> None:
    """Or it would be swept after a day."""
    assert not [path for path in demo_shop.rglob("*") if path.name.startswith(MARK)]


@pytest.mark.parametrize("name", ["none/c.csv", "c.pdf", "shop.toml", "f.csv"])
def test_nothing_is_held_when_the_list_of_a_recall_cannot_be_written(
    demo_shop: Path, run: Callable[..., Any], name: str
) -> None:
    """The file is looked at before anything is entered."""
    (demo_shop / "f.csv").mkdir()
    before = (demo_shop / "ledger.db").read_bytes()
    here = ("--shop", demo_shop, "--today", "2026-11-20")
    told = run(*here, "recall", LOT, "--hold", "--why", "a zap", "--customers", demo_shop / name)
    assert told.code == 2
    assert (demo_shop / "ledger.db").read_bytes() == before
    assert run(*here, "entries", "--last", "1", "--json").out.count("recall") == 0


def test_a_folder_that_may_not_be_written_is_told_beforehand(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Asked of the system, which allows everything to root."""
    monkeypatch.setattr(os, "access", lambda path, mode: path != tmp_path)
    with pytest.raises(BadInput, match="cannot be written: Permission denied"):
        check_writable(tmp_path / "c.csv", ".csv")
