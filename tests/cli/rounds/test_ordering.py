"""Orders one a line, a rack weighed as it stands, a test that may release."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

TODAY = ("--today", "2026-11-20", "--by", "tester")
Run = Callable[..., Any]


def test_orders_are_typed_one_a_line(demo_shop: Path, run: Run) -> None:
    """A comma in a buyer's name is part of it; the bars stand last."""
    here = ("--shop", demo_shop, *TODAY)
    typed = "17,A. Marsh,DRF=2 EBB=1\n18, Sedge, the elder, LAN=1\n\n"
    told = run(*here, "order", "add", typed=typed)
    assert told.code == 0, told.err
    rows = {row["order"]: row for row in json.loads(run(*here, "order", "list", "--json").out)}
    assert rows["17"]["lines"] == {"DRF": 2, "EBB": 1}
    assert rows["18"]["customer"] == "Sedge, the elder"


def test_what_is_no_order_stops_a_pipe(demo_shop: Path, run: Run) -> None:
    """What came before it stands, as in the other rounds."""
    here = ("--shop", demo_shop, *TODAY)
    told = run(*here, "order", "add", typed="17,A. Marsh,DRF=2\n18 LAN=1\n")
    assert told.code == 2
    assert "17, A. Marsh, DRF=2 EBB=1" in told.err
    rows = {row["order"] for row in json.loads(run(*here, "order", "list", "--json").out)}
    assert "17" in rows
    assert "18" not in rows


def test_a_rack_is_weighed_as_it_stands(demo_shop: Path, run: Run) -> None:
    """All that stand there are asked for, whether a weigh-in pays today or not."""
    here = ("--shop", demo_shop, *TODAY)
    stock = json.loads(run(*here, "stock", "--json").out)
    there = {row["lot"] for row in stock if row["place"] == "rack"}
    told = run(*here, "weigh", "--place", "rack", typed="\n" * len(there))
    assert told.code == 0, told.err
    assert {lot for lot in there if lot in told.out} == there
    assert "No bars stand at attic" in run(*here, "weigh", "--place", "attic").out


def test_a_test_that_passes_may_release(demo_shop: Path, run: Run) -> None:
    """In one line; the release has its own gates, and the test stands whatever they say."""
    here = ("--shop", demo_shop, *TODAY)
    ready, young = "DRF-26273-AY", "MUD-26307-AW"
    told = run(*here, "test", ready, "--method", "tongue", "--pass", "--release", "dry")
    assert told.code == 0, told.err
    assert "READY" in run(*here, "scan", ready).out
    told = run(*here, "test", young, "--method", "tongue", "--pass", "--release", "dry")
    assert told.code == 4
    assert "cannot be released" in told.err
    assert "free-alkali test passed" in run(*here, "scan", young).out


def test_a_test_that_fails_is_kept_and_releases_nothing(demo_shop: Path, run: Run) -> None:
    """A burnt tongue must not be lost because somebody wished to release as well."""
    here = ("--shop", demo_shop, *TODAY)
    lot = "DRF-26273-AY"
    told = run(*here, "test", lot, "--method", "tongue", "--fail", "--release", "dry")
    assert told.code == 4
    assert "FAILED" in run(*here, "scan", lot).out
