"""The accountant's file, read and balanced by beancount, a bookkeeping library of its own."""

from __future__ import annotations

import csv
from collections import defaultdict
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from beancount import loader
from beancount.core import inventory, realization

from soapstock.desk.desk import Desk
from soapstock.enter import orders
from soapstock.enter.invoice import credit, write_invoice
from soapstock.enter.money import Terms, charge, spend
from soapstock.enter.move import give, ship, waste
from soapstock.papers.journal import write_chart, write_journal
from soapstock.views.journal import journal
from soapstock.views.season import season
from tests.desks import moneyless as desk
from tests.views.test_cost import READY, counting
from tests.views.test_season import SOLD

__all__ = ["desk"]

FIRST, LAST = date(2026, 8, 1), date(2026, 11, 20)
ROOTS = {
    "asset": "Assets",
    "liability": "Liabilities",
    "equity": "Equity",
    "income": "Income",
    "expense": "Expenses",
}
HOUR = Decimal("18.50")


@pytest.fixture
def busy(desk: Desk) -> Desk:
    """The demo with prices, costs of every kind, a gift, breakage, a return, papers."""
    here = counting(
        desk,
        own_fat="bought",
        fat_kg={"beef-tallow": Decimal(6), "mutton-tallow": Decimal(5)},
        hour=HOUR,
        minutes_pour=Decimal(50),
        packing_bar=Decimal("0.13"),
        kept_carry=True,
    )
    for entry in SOLD:
        charge(here, entry, Terms(price="7.50", discount="0.50", postage="4.10", tax="0.33"))
    spend(here, "-", "fees", "25.00")
    spend(here, READY, "energy", "1.05")
    spend(here, READY, "work", "95")
    ship(here, READY, 2, customer="A. Marsh", from_place="rack", terms=Terms(price="8.00"))
    orders.take_back(here, READY, 1, "A. Marsh")
    give(here, READY, 2, "gift", from_place="rack")
    waste(here, READY, "1", "dropped", from_place="shelf")
    for entry, how in ((77, "cash"), (81, ""), (92, "card")):
        write_invoice(here, entry=entry, paid=how)
    credit(here, "2026-0003", "wrong name")
    return here


class Books:
    """The two files as beancount understands them."""

    def __init__(self, chart: Path, lines: Path) -> None:
        self.named = {
            row["name"]: f"{ROOTS[row['kind']]}:{row['key'].title().replace('_', '-')}"
            for row in rows_of(chart)
        }
        by_entry: dict[tuple[str, str], list[dict[str, str]]] = defaultdict(list)
        for row in rows_of(lines):
            by_entry[row["date"], row["entry"]].append(row)
        text = [f"2000-01-01 open {name}" for name in self.named.values()]
        for (day, entry), its in by_entry.items():
            text.append(f'{day} * "entry {entry}"')
            for row in its:
                text.append(f"  {self.named[row['debit']]}  {row['amount']} {row['currency']}")
                text.append(f"  {self.named[row['credit']]}  -{row['amount']} {row['currency']}")
        self.entries, self.errors, _ = loader.load_string("\n".join(text) + "\n")
        self.real = realization.realize(self.entries)

    def stands(self, *keys: str) -> Decimal:
        """What stands on accounts in the end, in USD, by beancount."""
        total: Any = inventory.Inventory()
        for key in keys:
            found = realization.get(self.real, next(n for n in self.named.values() if key in n))
            if found is not None:
                total += realization.compute_balance(found)
        return Decimal(total.get_currency_units("USD").number)


def rows_of(path: Path) -> list[dict[str, str]]:
    """A CSV's rows."""
    with path.open(encoding="utf-8", newline="") as handle:
        return list(csv.DictReader(handle))


def books(desk: Desk, folder: Path, first: date = FIRST, last: date = LAST) -> Books:
    """A span as beancount reads it from the files."""
    told = journal(desk, first, last)
    assert write_journal(told, folder / "j.csv") == len(told.rows) > 0
    assert write_chart(told, folder / "c.csv") == len(told.chart)
    return Books(folder / "c.csv", folder / "j.csv")


def test_every_entry_balances_and_the_accounts_say_what_the_season_says(
    busy: Desk, tmp_path: Path
) -> None:
    """Beancount finds no error, and its balances are the season's figures, to the cent."""
    read, told = books(busy, tmp_path), season(busy, FIRST, LAST)
    assert read.errors == []
    cost = {row.way: row.cost for row in told.bars}
    assert -read.stands("Sales", "Discounts") == told.income
    assert -read.stands("Postage") == told.postage
    assert -read.stands(":Tax") == told.tax
    assert read.stands("Running") == told.selling == Decimal("25.00")
    assert read.stands("Materials", "Soap") == sum(row.value for row in told.stock)
    for account, way in (("Sold", "sold"), ("Given", "given"), ("Wasted", "wasted")):
        assert read.stands(f"Expenses:{account}") == cost[way]
    assert read.stands("Kept") == cost["kept back, in all"] > 0


def test_receipts_are_money_taken_and_a_credited_one_is_paid_back(
    busy: Desk, tmp_path: Path
) -> None:
    """Four bars at 7.50 less 0.50, with 4.10 and 0.33, by cash; the card's was credited."""
    read = books(busy, tmp_path)
    assert read.stands("Money") == Decimal("33.93")
    owed = season(busy, FIRST, LAST)
    assert read.stands("Customers") == owed.income + owed.postage + owed.tax - Decimal("33.93")


def test_a_span_brings_forward_what_stood_before_it(busy: Desk, tmp_path: Path) -> None:
    """What stands in the end is the same wherever the span begins; only its own sales are in it."""
    whole = books(busy, tmp_path)
    for first in (date(2026, 10, 13), date(2026, 11, 20)):
        part = books(busy, tmp_path, first)
        assert part.errors == []
        for key in ("Materials", "Soap", "Customers", "Money", "Suppliers", "Own-Fat", "Own-Work"):
            assert part.stands(key) == whole.stands(key), key
        income = season(busy, first, LAST).income
        assert -part.stands("Sales", "Discounts") == income
        before = books(busy, tmp_path, FIRST, first - timedelta(days=1))
        assert before.errors == []
        assert -before.stands("Sales", "Discounts") + income == -whole.stands("Sales", "Discounts")


def test_own_work_is_what_its_hours_are_worth(busy: Desk, tmp_path: Path) -> None:
    """95 minutes on one batch as recorded, 50 on each other of the seventeen."""
    by_hand = sum(round(HOUR * m / 60, 2) for m in [95, *[50] * 16])
    assert -books(busy, tmp_path).stands("Own-Work") == by_hand


def test_the_accountants_names_are_used(desk: Desk, tmp_path: Path) -> None:
    """As [accounts] in shop.toml says."""
    from dataclasses import replace

    charge(desk, 77, Terms(price="7.50"))
    named = replace(desk, shop=replace(desk.shop, accounts={"sales": "8400 Erlöse"}))
    told = journal(named, FIRST, LAST)
    assert "8400 Erlöse" in {row.credit for row in told.rows}
    assert next(a.name for a in told.chart if a.key == "sales") == "8400 Erlöse"


def test_a_customers_name_is_no_formula(desk: Desk, tmp_path: Path) -> None:
    """A spreadsheet runs nothing of it."""
    ship(desk, READY, 1, customer="=1+1", from_place="rack", terms=Terms(price="1.00"))
    told = journal(desk, LAST, LAST)
    write_journal(told, tmp_path / "j.csv")
    assert "'=1+1" in {row["customer"] for row in rows_of(tmp_path / "j.csv")}
