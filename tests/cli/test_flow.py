"""A maker's season in small: an empty shop to a shipped bar, by the command line alone."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from tests.conftest import CHECKOUT

RECIPE = CHECKOUT / "sample_data" / "recipes" / "ebb.toml"
LOT = "EBB-26244"


@pytest.fixture
def shop(tmp_path: Path, run: Any) -> Path:
    """A shop with one recipe and three ingredient lots."""
    folder = tmp_path / "shop"
    assert (
        run(
            "start",
            folder,
            "--maker",
            "Test Maker",
            "--by",
            "tm",
            "--address",
            "1 Lane, Town, ST 00000",
        ).code
        == 0
    )
    at = ("--shop", folder, "--today", "2026-09-01")
    assert run(*at, "recipe", "add", RECIPE).code == 0
    for name, mass in (("beef-tallow", "4kg"), ("coconut", "2kg"), ("naoh", "1kg")):
        told = run(*at, "receive", name, "--mass", mass, "--supplier", "S", "--on", "2026-08-30")
        assert told.code == 0, told.err
    return folder


def pour(run: Any, shop: Path, *more: str) -> Any:
    """Pour Ebb with masses a little off the plan."""
    return run(
        "--shop",
        shop,
        "--today",
        "2026-09-01",
        "pour",
        "EBB",
        "-w",
        "tallow=1010g",
        "-w",
        "coconut=390g",
        "-w",
        "naoh=200g",
        "-w",
        "water=328g",
        *more,
    )


def test_from_pour_to_shipping(shop: Path, run: Any, tmp_path: Path) -> None:
    """Poured, unmoulded, weighed thrice, tested, released, labelled, scanned and shipped."""
    poured = pour(run, shop)
    assert poured.code == 0, poured.err
    assert "LYE BURNS" in poured.out
    lot = next(word for word in poured.out.split() if word.startswith(LOT))

    def on(day: str, *words: object) -> Any:
        told = run("--shop", shop, "--today", day, *words)
        assert told.code == 0, told.err
        return told

    on("2026-09-02", "unmould", lot, "--bars", 14, "--mass", "1330g", "--counted", 10)
    for day, mass in (("2026-09-09", "1275g"), ("2026-09-16", "1252g"), ("2026-10-01", "1236g")):
        on(day, "weigh", lot, mass, "--bars", 10)
    early = run("--shop", shop, "--today", "2026-10-01", "release", lot, "--why", "looks fine")
    assert early.code == 4
    assert "test" in early.err
    on("2026-10-02", "test", lot, "--method", "tongue", "--pass")
    on("2026-10-02", "release", lot, "--why", "all gates open")
    listed = json.loads(on("2026-10-02", "ready", "--json").out)
    assert [row["lot"] for row in listed] == [lot]
    assert all(listed[0]["gates"].values())
    out = tmp_path / "labels.pdf"
    on("2026-10-02", "label", lot, "--out", out)
    assert out.read_bytes().startswith(b"%PDF")
    on("2026-10-03", "ship", lot, 3, "--to", "A. Customer", "--order", "O-1")
    history = on("2026-10-03", "scan", lot.lower().replace("-", "")).out
    for fact in ("A. Customer", "beef-tallow", "1010 g", "all gates open", "11 rack"):
        assert fact in history


def test_a_mass_slip_is_refused_and_nothing_is_written(shop: Path, run: Any) -> None:
    """Lye of a far larger batch is refused before the entry, with the lye named."""
    told = run(
        "--shop",
        shop,
        "--today",
        "2026-09-01",
        "pour",
        "EBB",
        "-w",
        "tallow=1010g",
        "-w",
        "coconut=390g",
        "-w",
        "naoh=300g",
        "-w",
        "water=328g",
    )
    assert told.code == 4
    assert "refused" in told.err
    assert json.loads(run("--shop", shop, "curing", "--json").out) == []


def test_a_refused_batch_can_be_recorded_on_hold(shop: Path, run: Any) -> None:
    """A refused pour already in the mould is recorded with a reason, on hold from the start."""
    told = run(
        "--shop",
        shop,
        "--today",
        "2026-09-01",
        "pour",
        "EBB",
        "-w",
        "tallow=1010g",
        "-w",
        "coconut=390g",
        "-w",
        "naoh=300g",
        "-w",
        "water=328g",
        "--record-anyway",
        "already in the mould",
    )
    assert told.code == 0, told.err
    listed = json.loads(run("--shop", shop, "--today", "2026-09-02", "curing", "--json").out)
    assert listed[0]["state"] == "on hold"


def test_an_interrupted_pour_writes_nothing(shop: Path, run: Any) -> None:
    """A pour whose masses are not all given is refused whole."""
    told = run("--shop", shop, "--today", "2026-09-01", "pour", "EBB", "-w", "tallow=1010g")
    assert told.code == 2
    assert "coconut" in told.err
    stock = json.loads(run("--shop", shop, "stock", "--json").out)
    assert {row["quantity"] for row in stock} == {4000, 2000, 1000}


def test_undo_reverses_a_weigh_in(shop: Path, run: Any) -> None:
    """An undone weigh-in no longer counts, and the history says it was undone."""
    lot = next(w for w in pour(run, shop).out.split() if w.startswith(LOT))
    at = ("--shop", shop, "--today", "2026-09-10")
    run(*at, "unmould", lot, "--bars", 14, "--mass", "1330g", "--counted", 10, "--on", "2026-09-02")
    weighed = run(*at, "weigh", lot, "1175g", "--bars", 10)
    entry = weighed.out.split("(entry ")[1].split(")")[0]
    assert run(*at, "undo", entry, "--because", "tray not tared").code == 0
    record = json.loads(run(*at, "scan", lot, "--json").out)
    assert record["weigh_ins"] == []
    assert "was undone by entry" in run(*at, "scan", lot).out


def test_several_batches_are_tested_by_one_command_or_none_is(shop: Path, run: Any) -> None:
    """With one lot still in its mould nothing is entered; `undo last` then has the last of them."""
    first, second = (
        next(w for w in pour(run, shop, "--sure").out.split() if w.startswith(LOT))
        for _ in range(2)
    )
    at = ("--shop", shop, "--today", "2026-09-10")
    run(*at, "unmould", first, "--bars", 14, "--mass", "1330g", "--counted", 10)
    test = (*at, "test", first, second, "--method", "tongue", "--pass")
    assert run(*test).code == 4
    assert json.loads(run(*at, "scan", first, "--json").out)["tests"] == []
    run(*at, "unmould", second, "--bars", 14, "--mass", "1330g", "--counted", 10)
    assert run(*test).out.count("tongue test passed") == 2
    assert second in run(*at, "undo", "last").out
    assert json.loads(run(*at, "scan", second, "--json").out)["tests"] == []
    assert len(json.loads(run(*at, "scan", first, "--json").out)["tests"]) == 1


def test_the_scan_loop_goes_on_after_a_bad_code(shop: Path, run: Any) -> None:
    """One code a line: a wrong one is told, near lots are offered, the next is read."""
    lot = next(w for w in pour(run, shop).out.split() if w.startswith(LOT))
    wrong = lot[:-1] + ("0" if lot[-1] != "0" else "1")
    told = run("--shop", shop, "--today", "2026-09-02", "scan", typed=f"{wrong}\n\n{lot}\n")
    assert told.code == 0
    assert f"did you mean {lot}" in " ".join(told.out.split())
    assert "IN MOULD" in told.out


def test_a_notebook_page_is_judged_as_written(shop: Path, run: Any) -> None:
    """Adding a page of the notebook says what superfat its masses give and what lye they need."""
    told = run(
        "--shop", shop, "recipe", "add", CHECKOUT / "sample_data" / "recipes" / "mudlark.toml"
    )
    assert told.code == 0, told.err
    assert "Superfat" in told.out
    assert "For the usual superfat it would be" in told.out
