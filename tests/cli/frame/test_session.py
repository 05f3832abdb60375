"""`--key`: the same command sent twice counts once, whatever it writes."""

import json
import re
from importlib import import_module
from typing import get_type_hints

import pytest

from soapstock.cli.frame.commands import COMMANDS as COMMANDS_LIST
from soapstock.cli.frame.session import READ

DAY = ("--today", "2026-11-20", "--by", "tester")
DRF = "DRF-26241-AZ"
COMMANDS = [
    ("receive", "lard", "--mass", "1kg", "--supplier", "Invented Farm"),
    ("weigh", "DRF-26273-AY", "1200g", "--bars", "10"),
    ("test", "DRF-26273-AY", "--method", "tongue", "--pass"),
    ("hold", "DRF-26273-AY", "--why", "a look"),
    ("labels", "count", "DRF-26273-AY", "--printed", "10"),
    ("place", "add", "rack-9", "rack"),
    ("level", "lard", "2kg"),
    ("order", "add", "K-1", "DRF=2", "--from", "Invented Shop"),
    ("undo", "135", "--because", "entered on the wrong day"),
    ("recall", "DRF-26273-AY", "--practice"),
]


def entries(run, shop):
    """Number of the newest entry."""
    return json.loads(run("--shop", shop, "entries", "--last", "1", "--json").out)[0]["entry"]


@pytest.mark.parametrize("words", COMMANDS, ids=lambda words: words[0])
def test_a_command_sent_twice_counts_once(run, demo_shop, words):
    """The second time says which entry holds it already, and that is no failure."""
    before = entries(run, demo_shop)
    first = run("--shop", demo_shop, *DAY, "--key", "form-1", *words)
    again = run("--shop", demo_shop, *DAY, "--key", "form-1", *words)
    assert (first.code, again.code) == (0, 0), first.err + again.err
    assert f"Recorded already under entry {before + 1}" in " ".join(again.out.split())
    assert entries(run, demo_shop) == before + 1


def test_an_order_shipped_twice_under_one_key_ships_once(run, demo_shop):
    """A key stands for the whole transaction, of several entries too."""
    run("--shop", demo_shop, *DAY, "order", "add", "K-1", "EBB=2", "--from", "Invented Shop")
    before = entries(run, demo_shop)
    first = run("--shop", demo_shop, *DAY, "--key", "parcel-1", "order", "ship", "K-1")
    after = entries(run, demo_shop)
    again = run("--shop", demo_shop, *DAY, "--key", "parcel-1", "order", "ship", "K-1")
    assert (first.code, again.code) == (0, 0), first.err + again.err
    assert after > before + 1
    assert "Recorded already" in again.out
    assert entries(run, demo_shop) == after


def test_the_key_holds_after_midnight(run, demo_shop):
    """Sent again on another day, the same words are still the same entry."""
    words = (
        "--by",
        "tester",
        "--key",
        "form-1",
        "receive",
        "lard",
        "--mass",
        "1kg",
        "--supplier",
        "S",
    )
    run("--shop", demo_shop, "--today", "2026-11-20", *words)
    again = run("--shop", demo_shop, "--today", "2026-11-21", *words)
    assert "Recorded already" in again.out


def test_a_key_used_for_another_entry_is_refused(run, demo_shop):
    """A key names one thing said."""
    words = ("--shop", demo_shop, *DAY, "--key", "form-1", "weigh", "DRF-26273-AY")
    run(*words, "1200g", "--bars", "10")
    told = run(*words, "1201g", "--bars", "10")
    assert told.code == 4
    assert "'form-1' was used before" in told.err


def test_a_changed_file_under_the_same_key_is_another_thing_said(run, demo_shop, tmp_path):
    """The bytes of a file given as an argument belong to what was said."""
    path = tmp_path / "orders.csv"
    path.write_text("order,customer,recipe,bars\nK-1,Shop,DRF,2\n", encoding="utf-8")
    words = ("--shop", demo_shop, *DAY, "--key", "file-1", "order", "import", path)
    first = run(*words)
    path.write_text("order,customer,recipe,bars\nK-2,Shop,DRF,2\n", encoding="utf-8")
    told = run(*words)
    assert (first.code, told.code) == (0, 4), first.err + told.out


def test_what_was_undone_says_so_when_it_is_sent_again(run, demo_shop):
    """A key is not free again because its entry was undone."""
    words = ("--shop", demo_shop, *DAY, "--key", "form-1", "level", "lard", "2kg")
    run(*words)
    number = entries(run, demo_shop)
    run("--shop", demo_shop, *DAY, "undo", number, "--because", "too much")
    again = run(*words)
    assert again.code == 0
    assert f"since undone by entry {number + 1}" in " ".join(again.out.split())


def test_an_empty_key_is_refused(run, demo_shop):
    """A blank is no name."""
    assert run("--shop", demo_shop, *DAY, "--key", " ", "curing").code == 2


def test_a_changed_mapping_under_the_same_key_is_another_thing_said(run, demo_shop, tmp_path):
    """Which column is which decides what was ordered: the mapping's content is covered too."""
    orders, mapping = tmp_path / "o.csv", tmp_path / "m.toml"
    orders.write_text("a,b,c,d,e\nK-1,2026-11-16,Shop,DRF,2\n", encoding="utf-8")
    words = [*DAY, "--key", "form-1", "order", "import", orders, "--mapping", mapping]
    head = '[columns]\norder = "a"\nordered_on = "b"\ncustomer = "c"\nrecipe = "d"\nbars = "e"\n'
    mapping.write_text(head, encoding="utf-8")
    first = run("--shop", demo_shop, *words)
    assert first.code == 0, first.err
    mapping.write_text(head.replace('"c"', '"a"'), encoding="utf-8")
    told = run("--shop", demo_shop, *words)
    assert (told.code, "was used before" in told.err) == (4, True), told


WRITTEN = {
    "out",
    "calendar",
    "keep_map",
    "chart",
    "messages",
    "pdf",
    "png",
    "pick",
    "slip",
    "customers",
    "sheet",
    "pupil",
    "folder",
}


def test_every_file_an_option_names_is_known_to_be_read_or_written() -> None:
    """A new option that names a file is put on one side: what is read is part of what was said."""
    for name, (file, _) in COMMANDS_LIST.items():
        function = getattr(import_module(f"soapstock.cli.{file}"), re.sub("[ -]", "_", name))
        for option, kind in get_type_hints(function, include_extras=True).items():
            if "Path" in str(kind) and "OptionInfo" in str(kind):
                assert (option in READ) != (option in WRITTEN), f"{name}: {option}"
