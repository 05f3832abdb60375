"""Fixtures every test room shares."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

import pytest

CHECKOUT = Path(__file__).parents[1]


# Files that keep a worker busy longest: begun first, so that no worker waits at the end for one.
_LONGEST = (
    "test_both_databases.py",
    "test_disturb.py",
    "test_browser.py",
    "test_readme.py",
    "test_audit_sees.py",
    "test_crash.py",
    "test_season.py",
    "test_demo.py",
    "test_labels.py",
)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """The longest files first; the others as they come."""
    items.sort(key=lambda item: item.path.name not in _LONGEST)


def pytest_addoption(parser: pytest.Parser) -> None:
    """Add --update-golden: write the kept texts anew instead of comparing."""
    parser.addoption("--update-golden", action="store_true", help="write golden files anew")


@pytest.fixture
def update_golden(request: pytest.FixtureRequest) -> bool:
    """Whether golden files are to be written anew."""
    return bool(request.config.getoption("--update-golden"))


@dataclass(frozen=True)
class Told:
    """What a command said and how it ended."""

    code: int
    out: str
    err: str


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch) -> Callable[..., Told]:
    """Run one soapstock command in this process; 80 columns, no colour."""
    from typer.testing import CliRunner

    from soapstock.cli.frame.app import app

    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.setenv("NO_COLOR", "1")
    monkeypatch.delenv("SOAPSTOCK_SHOP", raising=False)

    def command(*words: object, typed: str = "") -> Told:
        result = CliRunner().invoke(app, [str(word) for word in words], input=typed)
        return Told(code=result.exit_code, out=result.stdout, err=result.stderr)

    return command


@pytest.fixture(scope="session")
def demo_once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo shop, built once; not to be written to."""
    from soapstock.upkeep.demo import build_demo

    folder = tmp_path_factory.mktemp("demo") / "shop"
    build_demo(folder)
    return folder


@pytest.fixture(scope="session")
def moneyless_once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo shop without prices, costs and invoices, built once; not to be written to."""
    from soapstock.money.costs import Costs
    from soapstock.upkeep import demo

    folder = tmp_path_factory.mktemp("moneyless") / "shop"
    read = demo.load_shop
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(demo, "load_shop", lambda of: replace(read(of), costs=Costs()))
        patch.setattr(demo, "_money", lambda *_: None)
        demo.build_demo(folder)
    return folder


@pytest.fixture
def demo_shop(demo_once: Path, tmp_path: Path) -> Path:
    """A copy of the demo shop that a test may change."""
    folder = tmp_path / "shop"
    shutil.copytree(demo_once, folder)
    return folder


@pytest.fixture
def new_shop(tmp_path: Path) -> Path:
    """An empty shop."""
    from soapstock.shop import Shop
    from soapstock.upkeep.start import start_shop

    folder = tmp_path / "new-shop"
    start_shop(
        Shop(folder=folder, maker="Test Maker", address=("1 Lane", "Town, ST 00000"), by="tm")
    )
    return folder
