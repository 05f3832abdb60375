"""Starting a shop: whole or not at all."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from threading import Barrier

import pytest

from soapstock.errors import BadInput, RuleBroken, SoapstockError
from soapstock.ledger.store import open_ledger
from soapstock.shop import Shop, load_shop
from soapstock.upkeep.start import start_shop


def test_a_new_shop_has_its_two_files(tmp_path: Path) -> None:
    """shop.toml and ledger.db, and nothing half-written beside them."""
    start_shop(Shop(folder=tmp_path / "s", maker="M"))
    names = {p.name for p in (tmp_path / "s").iterdir()}
    assert {"shop.toml", "ledger.db"} <= names
    assert not [name for name in names if name.endswith(".part")]


def test_a_wrong_setting_leaves_no_folder(tmp_path: Path) -> None:
    """A shop that cannot be read back is not left behind."""
    with pytest.raises(BadInput):
        start_shop(Shop(folder=tmp_path / "s", maker="M", market="mars"))
    assert not (tmp_path / "s").exists()


def test_a_folder_in_use_keeps_what_it_holds(tmp_path: Path) -> None:
    """A failed start in an existing folder removes only what it made."""
    (tmp_path / "mine.txt").write_text("keep", encoding="utf-8")
    with pytest.raises(BadInput):
        start_shop(Shop(folder=tmp_path, maker="M", market="mars"))
    assert [p.name for p in tmp_path.iterdir()] == ["mine.txt"]


def test_a_stray_ledger_is_never_taken_over(tmp_path: Path) -> None:
    """A ledger.db without its shop.toml is somebody's records."""
    (tmp_path / "ledger.db").write_bytes(b"records")
    with pytest.raises(RuleBroken, match=r"ledger\.db"):
        start_shop(Shop(folder=tmp_path, maker="M"))
    assert (tmp_path / "ledger.db").read_bytes() == b"records"


def test_a_file_in_the_way_is_told(tmp_path: Path) -> None:
    """A folder cannot be made where a file stands."""
    (tmp_path / "s").write_text("a file", encoding="utf-8")
    with pytest.raises(SoapstockError, match="cannot make"):
        start_shop(Shop(folder=tmp_path / "s", maker="M"))


def test_a_start_that_was_cut_off_is_finished_by_the_same_start(tmp_path: Path) -> None:
    """shop.toml without its ledger, as a power cut leaves it."""
    shop = Shop(folder=tmp_path / "s", maker="M")
    start_shop(shop)
    for path in shop.folder.glob("ledger.db*"):
        path.unlink()
    start_shop(shop)
    assert (shop.folder / "ledger.db").exists()


def test_a_shop_that_lost_its_ledger_is_not_started_over(tmp_path: Path) -> None:
    """Its backups show that there was one: restore it."""
    shop = Shop(folder=tmp_path / "s", maker="M")
    start_shop(shop)
    (shop.folder / "ledger.db").unlink()
    (shop.folder / "backups").mkdir()
    with pytest.raises(RuleBroken, match="already holds a shop"):
        start_shop(shop)


@pytest.mark.parametrize("there", [False, True])
def test_several_starts_at_once_make_one_shop(tmp_path: Path, *, there: bool) -> None:
    """Whoever loses takes nothing away from the one that was told it is there."""
    for turn in range(5):
        folder = tmp_path / f"s{turn}"
        if there:
            folder.mkdir()
        together = Barrier(4)

        def one(maker: str, folder: Path = folder, together: Barrier = together) -> str:
            together.wait(30)
            try:
                start_shop(Shop(folder=folder, maker=maker))
            except SoapstockError:
                return ""
            return maker

        with ThreadPoolExecutor(4) as pool:
            made = [name for name in pool.map(one, "ABCD") if name]
        assert len(made) == 1
        assert load_shop(folder).maker == made[0]
        with open_ledger(load_shop(folder).database_url) as ledger, ledger.read() as reader:
            assert reader.head()[0] == 0
