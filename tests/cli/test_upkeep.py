"""What the keeping commands print, and their exit codes."""

import re

import pytest

from soapstock.errors import ExitCode


def test_audit_of_a_clean_shop_says_so_and_gives_the_note(run, demo_shop):
    """The line to note on paper can be given back."""
    told = run("--shop", demo_shop, "audit")
    assert told.code == ExitCode.DONE
    assert "no findings" in told.out
    note = told.out.split("paper: ")[1].split()[0]
    assert run("--shop", demo_shop, "audit", "--expect", note).code == ExitCode.DONE


def test_audit_with_findings_is_refused(run, demo_shop):
    """Exit code 4, for scripts."""
    told = run("--shop", demo_shop, "audit", "--expect", "3:000000000000", "--json")
    assert told.code == ExitCode.REFUSED
    assert '"rule": "noted"' in told.out


def test_backup_list_and_restore(run, demo_shop):
    """The listed file is what restore takes."""
    assert "read them back" in run("--shop", demo_shop, "backup", "--keep", "2").out
    path = run("--shop", demo_shop, "backup", "--list").out.replace("\n", "")
    assert "Restored" in run("--shop", demo_shop, "restore", path).out


def test_restore_over_newer_entries_is_refused(run, demo_shop):
    """Without --force."""
    run("--shop", demo_shop, "backup")
    (path,) = (demo_shop / "backups").glob("*.db")
    lot = run("--shop", demo_shop, "lots", "--csv").out.splitlines()[1].split(",")[0]
    assert run("--shop", demo_shop, "waste", lot, "1g", "--why", "spilt").code == ExitCode.DONE
    told = run("--shop", demo_shop, "restore", path)
    assert told.code == ExitCode.REFUSED
    assert "--force" in told.err


def test_move_to_a_file_that_is_there_is_refused(run, demo_shop):
    """Nothing is overwritten."""
    told = run("--shop", demo_shop, "move-to", f"sqlite:///{demo_shop / 'shop.toml'}")
    assert told.code == ExitCode.DATABASE
    assert "already" in told.err


def test_migrate_has_nothing_to_do(run, demo_shop):
    """And says so."""
    assert "already" in run("--shop", demo_shop, "migrate").out


def test_audit_with_findings_gives_no_note(run, demo_shop):
    """A hash of a past that may have been changed is not worth keeping."""
    told = run("--shop", demo_shop, "audit", "--expect", "3:000000000000")
    assert "Note this" not in told.out


def test_listed_backups_are_one_a_line(run, demo_shop):
    """However long the path, so that a script can take it."""
    run("--shop", demo_shop, "backup")
    (path,) = (demo_shop / "backups").glob("*.db")
    assert run("--shop", demo_shop, "backup", "--list").out == f"{path}\n"


def test_restore_takes_a_backups_name_and_says_what_it_kept(run, demo_shop):
    """As backup --list shows it, and the ledger it replaced is named."""
    run("--shop", demo_shop, "backup")
    (path,) = (demo_shop / "backups").glob("*.db")
    told = run("--shop", demo_shop, "restore", path.name)
    (kept,) = (demo_shop / "before-restore").iterdir()
    assert told.code == ExitCode.DONE
    assert kept.name in told.out.replace("\n", "")


def test_move_to_prints_the_line_for_the_shops_settings(run, demo_shop):
    """Ready to be pasted, whole."""
    told = run("--shop", demo_shop, "move-to", f"sqlite:///{demo_shop / 'copy.db'}")
    assert f'\n  database = "sqlite:///{demo_shop / "copy.db"}"\n' in told.out


def test_a_book_that_moved_says_so_whatever_is_asked(run, demo_shop):
    """And refuses what is entered, with how to open it again."""
    run("--shop", demo_shop, "move-to", f"sqlite:///{demo_shop / 'copy.db'}")
    told = run("--shop", demo_shop, "stock")
    assert told.code == ExitCode.DONE
    assert f"this ledger moved to {demo_shop / 'copy.db'}; what was entered since" in told.err
    told = run("--shop", demo_shop, "level", "lard", "5kg")
    assert told.code == ExitCode.REFUSED
    assert "takes no entries" in told.err
    assert re.search(r"soapstock undo \d+ --because", told.err)


@pytest.mark.parametrize(
    ("words", "names"),
    [
        ("recall DRF-26241-AZ --customers c.csv", True),
        ("record DRF-26241-AZ --out r.pdf", True),
        ("record DRF-26273-AY --out r.pdf", False),
        ("order pack HS-41 --pick p.pdf", True),
        ("backup --to .", True),
    ],
)
def test_what_names_customers_says_so(run, demo_shop, tmp_path, monkeypatch, words, names):
    """Each file that does is told as it is written; one that names none is not."""
    monkeypatch.chdir(tmp_path)
    told = run("--shop", demo_shop, "--today", "2026-11-20", *words.split())
    assert told.code == ExitCode.DONE
    assert ("It names customers" in " ".join(told.out.split())) == names


def test_an_invoice_says_that_it_names_its_customer(run, demo_shop, tmp_path):
    """Given, printed again, and taken back."""

    def said(*words):
        told = run("--shop", demo_shop, "--today", "2026-11-20", "--by", "me", *words)
        assert told.code == ExitCode.DONE, told.err
        return "It names customers" in " ".join(told.out.split())

    out = tmp_path / "i.pdf"
    sale = ("ship", "DRF-26241", "1", "--to", "A. Customer", "--order", "Z-9")
    assert not said(*sale, "--price", "7.00")
    assert said("invoice", "give", "Z-9", "--out", out)
    assert said("invoice", "print", "2026-0006", out)
    assert said("invoice", "credit", "2026-0006", "--why", "wrong", "--out", out)


def test_the_database_to_move_to_may_be_asked_for(run, demo_shop, tmp_path):
    """A password then stands neither in a list of processes nor in the shell's history."""
    told = run("--shop", demo_shop, "move-to", "-", typed=f"sqlite:///{tmp_path / 'x.db'}\n")
    assert told.code == 0
    assert (tmp_path / "x.db").exists()
