"""The invented demo shop."""

from __future__ import annotations

from pathlib import Path

import pytest

from soapstock.desk.desk import Desk
from soapstock.enter import move
from soapstock.errors import RuleBroken
from soapstock.ledger.keep.audit import check_balance
from soapstock.upkeep.demo import MARK, build_demo, open_demo, rows_of
from soapstock.views import batch
from tests.conftest import CHECKOUT


def test_the_demo_has_what_the_design_asks(desk: Desk) -> None:
    """Seven bars, seventeen pours, one damp batch, one on hold, one in its mould."""
    views = batch.views(desk)
    assert len(views) == 17
    assert len({item.recipe.code for item in views}) == 7
    states = [item.readiness.state for item in views]
    assert states.count("on hold") == 1
    assert states.count("in mould") == 1
    assert sum(bool(item.alarms) for item in views) >= 1
    assert rows_of("orders.csv")


def test_the_demo_ledger_balances(desk: Desk) -> None:
    """Every entry of the demo sums to zero per lot and unit."""
    with desk.ledger.read() as reader:
        assert check_balance(reader.db) == []


def test_a_demo_is_rebuilt_in_its_own_folder(tmp_path: Path) -> None:
    """A second run replaces the first, and only a folder that the demo made."""
    folder = tmp_path / "demo"
    folder.mkdir()
    (folder / MARK).write_text("", encoding="utf-8")
    (folder / "old.txt").write_text("old", encoding="utf-8")
    build_demo(folder)
    assert not (folder / "old.txt").exists()


def test_a_foreign_folder_is_left_alone(tmp_path: Path) -> None:
    """A folder with anything else in it is refused."""
    (tmp_path / "mine.txt").write_text("keep", encoding="utf-8")
    with pytest.raises(RuleBroken, match="not an empty folder"):
        build_demo(tmp_path)
    assert (tmp_path / "mine.txt").exists()


def test_every_invented_supplier_and_customer_says_so() -> None:
    """Nobody can mistake a demo name for a real firm or person."""
    for row in rows_of("receipts.csv"):
        assert not row["supplier"] or "(invented)" in row["supplier"]
    for row in rows_of("orders.csv"):
        assert "(invented)" in row["customer"]
    assert "Invented" in (CHECKOUT / "sample_data" / "shop.toml").read_text(encoding="utf-8")


def test_the_demos_orders_wait(desk: Desk) -> None:
    """Every order of the sample file is on the book, none reserved yet."""
    from soapstock.views import orders

    waiting = {row.order for row in orders.listed(desk, everything=False)}
    assert waiting == {row["order"] for row in rows_of("orders.csv")}


def test_a_demo_in_use_is_not_built_over(tmp_path: Path) -> None:
    """What a person entered, changed or backed up there is theirs."""
    folder = tmp_path / "demo"
    demo = build_demo(folder)
    build_demo(folder)
    settings = folder / "shop.toml"
    text = settings.read_text(encoding="utf-8")
    settings.write_text(text + "\n# mine\n", encoding="utf-8")
    with pytest.raises(RuleBroken, match="is in use"):
        build_demo(folder)
    settings.write_text(text, encoding="utf-8")
    (folder / "backups").mkdir()
    with pytest.raises(RuleBroken, match="is in use"):
        build_demo(folder)
    (folder / "backups").rmdir()
    with open_demo(folder, demo) as desk:
        move.retain(desk, demo.scan_lot, 1)
    with pytest.raises(RuleBroken, match="is in use"):
        build_demo(folder)
