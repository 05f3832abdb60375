"""Bad input to every command: one clear line, the right exit code, and an unchanged ledger."""

from __future__ import annotations

import sqlite3
from pathlib import Path
from typing import Any

import pytest

TODAY = ("--today", "2026-11-20")
LOT = "DRF-26241-AZ"
RIPE = "LAN-26297-AJ"

CASES: dict[str, tuple[tuple[str, ...], int, str]] = {
    "unknown unit": (("receive", "coconut", "--mass", "5 stone", "--supplier", "S"), 2, "stone"),
    "no unit": (("receive", "coconut", "--mass", "5", "--supplier", "S"), 2, "unit"),
    "negative mass": (("receive", "coconut", "--mass", "-5g", "--supplier", "S"), 2, "negative"),
    "no supplier": (("receive", "coconut", "--mass", "5kg"), 2, "--supplier"),
    "unknown ingredient": (("receive", "cocnut", "--mass", "5kg", "--supplier", "S"), 3, "coconut"),
    "future receipt": (
        ("receive", "coconut", "--mass", "1kg", "--supplier", "S", "--on", "2027-01-01"),
        2,
        "future",
    ),
    "bad cost": (
        ("receive", "coconut", "--mass", "1kg", "--supplier", "S", "--cost", "ten"),
        2,
        "24.50",
    ),
    "bad certificate": (
        ("receive", "coconut", "--mass", "1kg", "--supplier", "S", "--sv", "0.18"),
        2,
        "194-198",
    ),
    "naoh certificate": (
        ("receive", "coconut", "--mass", "1kg", "--supplier", "S", "--sv", "18"),
        2,
        "mg KOH/g",
    ),
    "missing recipe file": (("recipe", "add", "nowhere.toml"), 3, "nowhere.toml"),
    "unknown recipe": (("recipe", "show", "XYZ"), 3, "DRF"),
    "no target": (("recipe", "scale", "DRF"), 2, "--have"),
    "two targets": (("recipe", "scale", "DRF", "--bars", "3", "--fat", "1kg"), 2, "together"),
    "fat not in recipe": (("recipe", "scale", "DRF", "--have", "lard=1kg"), 2, "lard"),
    "no plan": (("pour", "DRF", "--as-planned"), 2, "--have"),
    "no masses": (("pour", "DRF"), 2, "--weighed"),
    "pour unknown recipe": (("pour", "XYZ", "-w", "a=1g"), 3, "DRF"),
    "pour short stock": (("pour", "DRF", "--have", "tallow=90kg", "--as-planned"), 4, "in store"),
    "pour in future": (
        ("pour", "DRF", "--have", "tallow=100g", "--as-planned", "--on", "2026-12-01"),
        2,
        "future",
    ),
    "pour bad humidity": (
        ("pour", "DRF", "--have", "tallow=100g", "--as-planned", "--rh", "140"),
        2,
        "room humidity is 140",
    ),
    "pour bad temperature": (
        ("pour", "DRF", "--have", "tallow=100g", "--as-planned", "--lye-temp", "hot"),
        2,
        "38C",
    ),
    "unmould twice": (("unmould", LOT, "--bars", "9", "--mass", "1kg"), 4, ""),
    "unmould too heavy": (
        ("unmould", "SAM-26323-AN", "--bars", "19", "--mass", "9kg"),
        4,
        "poured",
    ),
    "weigh unknown lot": (("weigh", "DRF-26240-AX", "1kg", "--bars", "9"), 2, ""),
    "weigh too heavy": (("weigh", LOT, "12kg", "--bars", "10"), 4, "tare"),
    "weigh in mould": (("weigh", "SAM-26323-AN", "1kg", "--bars", "9"), 4, "unmould"),
    "weigh no bars": (("weigh", LOT, "1kg", "--bars", "0"), 2, "count"),
    "test unknown method": (("test", LOT, "--method", "sniff", "--pass"), 2, "tongue"),
    "test no outcome": (("test", LOT, "--method", "tongue"), 2, "--pass"),
    "test over limit": (
        ("test", LOT, "--method", "titration", "--value", "0.3", "--pass"),
        4,
        "0.1",
    ),
    "release too early": (("release", RIPE, "--why", "now"), 4, "cured"),
    "release no reason": (("release", LOT, "--why", " "), 2, "--why"),
    "hold unknown": (("hold", "ZZZ", "--why", "x"), 2, ""),
    "reject no reason": (("reject", LOT, "--why", ""), 2, "--why"),
    "move to customer": (("move", LOT, "1", "--to", "customer"), 4, "ship"),
    "move too many": (("move", LOT, "500", "--to", "shelf"), 4, "it has"),
    "ship unreleased": (("ship", RIPE, "1", "--to", "A"), 4, "may not ship"),
    "ship too many": (("ship", LOT, "500", "--to", "A"), 4, "it has"),
    "ship to nobody": (("ship", LOT, "1", "--to", ""), 2, "--to"),
    "retain too many": (("retain", LOT, "500"), 4, "it has"),
    "waste no reason": (("waste", LOT, "1", "--why", ""), 2, "--why"),
    "waste not a count": (("waste", LOT, "some", "--why", "x"), 2, "count"),
    "count not a plain digit": (("count", LOT, "rack", "²"), 2, "count"),
    "count not a count": (("count", LOT, "rack", "-3"), 2, ""),
    "undo unknown": (("undo", "99999", "--because", "x"), 3, ""),
    "undo no reason": (("undo", "1", "--because", ""), 2, "--because"),
    "entries unknown lot": (("entries", "DRF-26241-AX"), 2, "DRF-26241-AZ"),
    "ready by past": (("ready", "--by", "2026-01-01"), 2, "past"),
    "ready bad day": (("ready", "--by", "soon"), 2, "2026-11-25"),
    "scan wrong check": (("scan", "DRF-26241-AX"), 2, "DRF-26241-AZ"),
    "scan missing picture": (("scan", "--picture", "nowhere.png"), 3, "nowhere.png"),
    "label unknown face": (("label", LOT, "--face", "moon"), 3, "moon"),
    "label no copies": (("label", LOT, "--copies", "0"), 2, "copies"),
    "label bad market": (("label", LOT, "--market", "mars", "--text"), 2, "mars"),
    "label overstated": (("label", LOT, "--declared", "140g", "--text"), 4, "500.25"),
    "card unknown lot": (("card", "DRF-26241-AX"), 2, "DRF-26241-AZ"),
    "json and csv": (("curing", "--json", "--csv"), 2, "together"),
    "stock json and csv": (("stock", "--json", "--csv"), 2, "together"),
    "lots json and csv": (("lots", "--json", "--csv"), 2, "together"),
    "recipe list both": (("recipe", "list", "--json", "--csv"), 2, "together"),
}


def dump(shop: Path) -> list[str]:
    """All rows of the ledger as SQL text."""
    with sqlite3.connect(shop / "ledger.db") as db:
        return list(db.iterdump())


@pytest.mark.parametrize("name", CASES)
def test_bad_input_is_told_and_changes_nothing(name: str, demo_shop: Path, run: Any) -> None:
    """The message names what is wrong, the exit code fits, the ledger is as before."""
    words, code, said = CASES[name]
    before = dump(demo_shop)
    told = run("--shop", demo_shop, *TODAY, *words)
    assert told.code == code, told.err
    assert said in told.err + told.out
    assert "Traceback" not in told.err
    assert told.err.startswith(("soapstock: ", "Usage:"))
    assert dump(demo_shop) == before


def test_broken_toml_names_file_and_line(new_shop: Path, run: Any, tmp_path: Path) -> None:
    """A recipe that is not TOML is refused with its file and line."""
    bad = tmp_path / "bad.toml"
    bad.write_text('code = "DRF"\nname = \n', encoding="utf-8")
    told = run("--shop", new_shop, "recipe", "add", bad)
    assert told.code == 2
    assert "bad.toml:2" in told.err


def test_an_unknown_key_offers_the_nearest(new_shop: Path, run: Any, tmp_path: Path) -> None:
    """A misspelt key of a recipe is refused, never ignored."""
    bad = tmp_path / "bad.toml"
    text = (Path(__file__).parents[2] / "sample_data/recipes/ebb.toml").read_text(encoding="utf-8")
    bad.write_text(text.replace("superfat_percent", "superfatt_percent"), encoding="utf-8")
    told = run("--shop", new_shop, "recipe", "add", bad)
    assert told.code == 2
    assert "superfat_percent" in told.err


def test_a_misspelt_shop_setting_is_refused(new_shop: Path, run: Any) -> None:
    """shop.toml is read strictly."""
    path = new_shop / "shop.toml"
    path.write_text(path.read_text(encoding="utf-8") + '\nmarkt = "eu"\n', encoding="utf-8")
    told = run("--shop", new_shop, "stock")
    assert told.code == 2
    assert "did you mean market" in told.err


def test_no_shop_says_how_to_begin(tmp_path: Path, run: Any) -> None:
    """Without a shop the program says how to start one."""
    told = run("--shop", tmp_path, "stock")
    assert told.code == 3
    assert "soapstock start" in told.err


def test_start_refuses_a_second_shop(new_shop: Path, run: Any) -> None:
    """A folder that holds a shop is left alone."""
    told = run("start", new_shop, "--maker", "Other")
    assert told.code == 4
    assert "Test Maker" in (new_shop / "shop.toml").read_text(encoding="utf-8")


def test_demo_refuses_a_folder_that_is_not_its_own(tmp_path: Path, run: Any) -> None:
    """The demo never clears a folder it did not make."""
    (tmp_path / "mine.txt").write_text("keep", encoding="utf-8")
    assert run("demo", tmp_path).code == 4
    assert (tmp_path / "mine.txt").exists()


def test_nobody_named_is_refused(demo_shop: Path, run: Any) -> None:
    """A fact without a person is refused."""
    path = demo_shop / "shop.toml"
    text = path.read_text(encoding="utf-8").replace('by = "demo maker"', 'by = ""')
    path.write_text(text, encoding="utf-8")
    told = run("--shop", demo_shop, *TODAY, "hold", LOT, "--why", "x")
    assert told.code == 2
    assert "--by" in told.err
