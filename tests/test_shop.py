"""shop.toml is read strictly, and a shop is found in the documented order."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from soapstock.cli.frame.mends import help_of
from soapstock.errors import BadInput, NotFound
from soapstock.shop import (
    MouldKind,
    Selling,
    Shop,
    Workshop,
    find_shop_folder,
    load_shop,
    shop_text,
)


def written(folder: Path, text: str) -> Path:
    """A folder with that shop.toml."""
    folder.mkdir(exist_ok=True)
    (folder / "shop.toml").write_text(text, encoding="utf-8")
    return folder


def test_what_is_written_is_read_back(tmp_path: Path) -> None:
    """shop_text and load_shop are inverse."""
    shop = Shop(
        folder=tmp_path,
        maker='A "B" \\ C',
        address=("1 Lane", "Town"),
        get_ready=("goggles", 'a "clean" pot'),
        contact="x@y.example",
        market="eu",
        web="https://soap.example",
        scale_step_g=Decimal("0.1"),
        default_cure_days=35,
        printer_offset_mm=(1.5, -0.5),
        markets={
            "eu": Selling(responsible=("R", "2 Row"), origin="USA"),
            "uk": Selling(responsible=("maker",)),
        },
        workshop=Workshop(
            working_days=frozenset({2, 5}),
            rack_places=180,
            largest_pot_g=Decimal(4000),
            moulds={"loaf 2": MouldKind(bars=20, count=2, recipes=("DRF",))},
        ),
    )
    written(tmp_path, shop_text(shop))
    assert load_shop(tmp_path) == shop


@given(st.text(st.characters(min_codepoint=32, blacklist_categories=("Cs",)), min_size=1))
def test_any_maker_name_survives(name: str) -> None:
    """Quotes and backslashes in a name do not break the file."""
    import tempfile

    if not name.strip() or "\x7f" in name:
        return
    with tempfile.TemporaryDirectory() as folder:
        shop = Shop(folder=Path(folder), maker=name)
        written(shop.folder, shop_text(shop))
        assert load_shop(shop.folder).maker == name


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ('market = "mars"', "shop.toml:2: market: 'mars' is not one of"),
        ("markets = 3", "markets is not a table"),
        ('[markets.mars]\norigin = "USA"', "markets.mars: unknown field"),
        ('[markets.eu]\norigins = "USA"', "shop.toml:3: markets.eu.origins: unknown field"),
        ('[markets.eu]\norigin = "US\\u0007A"', "markets.eu: is not plain lines"),
        ("[markets.eu]\nresponsible = 4", "markets.eu.responsible: is not a list of texts"),
        ("default_cure_days = 0", "0 is not between 1 and 730"),
        ("default_cure_days = true", "is not a number"),
        ("default_cure_days = 3.5", "not a whole number"),
        ('contact = "a\\nb"', "not one line"),
        ('scale_step = "1 stone"', "stone"),
        ('scale_step = "0 g"', "not above zero"),
        ('scale_step = "200 g"', "1 mg"),
        ("dry_week_loss_percent = 50", "50 is not between 0.01 and 10"),
        ("dry_week_loss_percent = nan", "is not between 0.01 and 10"),
        ('address = "one line"', "is not a list of texts"),
        ('web = "not a web address"', "web address"),
        ('keeping_rule = "guess"', "earliest-ingredient"),
        ("printer_offset = [1.5]", "[1.5, -0.5]"),
        ("printer_offset = 1.5", "[1.5, -0.5]"),
        ("printer_offset = [true, 0]", "is not a number"),
        ("printer_offset = [0, 20.5]", "20.5 is not between -20 and 20"),
        ("printer_offset = [nan, 0]", "is not between -20 and 20"),
        ('printer_offset = ["1.5", "0"]', "'1.5' is not a number"),
        ('[gtins]\nDRF = "123"', "shop.toml: gtins: "),
        ('[workshop]\nworking_days = ["someday"]', "is not a list of weekdays"),
        ("[workshop]\npots_a_day = 0", "is not between 1 and 20"),
        ("[moulds.loaf]\ncount = 2", "moulds.loaf.bars: is missing"),
        ('makr = "x"', "did you mean maker?"),
        ("maker = ", "shop.toml:2: not valid TOML"),
    ],
)
def test_a_wrong_setting_is_refused(tmp_path: Path, line: str, said: str) -> None:
    """The message or hint says what is expected."""
    written(tmp_path, f'maker = "M"\n{line}\n')
    with pytest.raises(BadInput) as told:
        load_shop(tmp_path)
    assert said in told.value.message + told.value.hint


def test_a_shop_without_a_maker_is_refused(tmp_path: Path) -> None:
    """The maker's name is the one setting without a default."""
    written(tmp_path, 'market = "eu"\n')
    with pytest.raises(BadInput, match="maker: is missing"):
        load_shop(tmp_path)


def test_the_database_may_not_leave_the_folder(tmp_path: Path) -> None:
    """A path that climbs out of the shop is refused."""
    shop = Shop(folder=tmp_path, maker="M", database="../other.db")
    with pytest.raises(BadInput, match="outside"):
        _ = shop.database_url


def test_a_database_url_is_taken_as_it_is(tmp_path: Path) -> None:
    """A URL names a server."""
    shop = replace(Shop(folder=tmp_path, maker="M"), database="postgresql+psycopg://h/db")
    assert shop.database_url == "postgresql+psycopg://h/db"


def test_the_option_wins_over_the_environment(tmp_path: Path) -> None:
    """--shop, then SOAPSTOCK_SHOP, then the current folder."""
    here = written(tmp_path / "here", 'maker = "M"\n')
    assert find_shop_folder(tmp_path / "a", "b", here) == tmp_path / "a"
    assert find_shop_folder(None, "b", here) == Path("b")
    assert find_shop_folder(None, None, here) == here


def test_the_users_data_folder_is_last(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A shop in the user's data folder serves when nothing else does."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    home = written(tmp_path / "soapstock", 'maker = "M"\n')
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    assert find_shop_folder(None, None, elsewhere) == home


def test_no_shop_anywhere_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Without any shop the error says how to begin."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "none"))
    with pytest.raises(NotFound) as told:
        find_shop_folder(None, None, tmp_path)
    assert "soapstock start" in help_of(told.value)


def test_a_market_has_its_own_responsible_person_and_origin(tmp_path: Path) -> None:
    """Named by market; "maker" means the maker, and a market without a table has neither."""
    text = (
        'maker = "M"\naddress = ["1 Lane", "Town"]\n'
        '[markets.eu]\nresponsible = ["R", "2 Row"]\norigin = "USA"\n'
        '[markets.uk]\nresponsible = "maker"\n'
    )
    shop = load_shop(written(tmp_path, text))
    assert shop.selling_in("eu").responsible == ("R", "2 Row")
    assert shop.selling_in("eu").origin == "USA"
    assert shop.selling_in("uk").responsible == ("M", "1 Lane", "Town")
    assert shop.selling_in("ca").responsible == ()


@pytest.mark.parametrize(
    ("order", "typed", "day"),
    [
        ("mdy", "3/8/26", "2026-03-08"),
        ("mdy", "11-25-2026", "2026-11-25"),
        ("dmy", "3.8.26", "2026-08-03"),
        ("dmy", "2026-03-08", "2026-03-08"),
        ("iso", "3/8/26", ""),
        ("mdy", "25/11/26", ""),
        ("mdy", "3/8", ""),
        ("mdy", "3/8/026", ""),
    ],
)
def test_days_are_typed_as_the_shop_says(
    demo_shop: Path, run: Callable[..., Any], order: str, typed: str, day: str
) -> None:
    """US and European days by a setting; an order that the setting does not name is refused."""
    settings = demo_shop / "shop.toml"
    text = settings.read_text(encoding="utf-8")
    assert 'days = "iso"' in text
    settings.write_text(text.replace('days = "iso"', f'days = "{order}"'), encoding="utf-8")
    at = ("--shop", demo_shop, "--today", "2026-11-20")
    told = run(*at, "receive", "lard", "--mass", "2kg", "--supplier", "X", "--best-before", typed)
    assert (told.code == 0) == bool(day), told.err
    if day:
        assert day in run(*at, "lots", "lard").out
