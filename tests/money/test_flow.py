"""Cost in equals cost sold, given, wasted, kept and on hand, whatever happens and is undone."""

from __future__ import annotations

import contextlib
import random
from collections import defaultdict
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest

from soapstock.errors import SoapstockError
from soapstock.ledger.facts import PourFacts, ReceiveFacts, Spent, Stamp, Use
from soapstock.ledger.keep.migrate import create
from soapstock.ledger.read.reader import Reader
from soapstock.ledger.store import Ledger, open_ledger
from soapstock.ledger.write.writer import Writer
from soapstock.money.book import Book, Rows, keep_book
from soapstock.money.costs import Costs
from soapstock.money.flow import Balance, Lot, Step, balance, flow
from soapstock.money.journal import stock_lines, sums

DAY = date(2026, 9, 1)
STAMP = Stamp(
    happened_on=DAY, entered_at=datetime(2026, 9, 1, tzinfo=UTC), by="Maker", note="a reason"
)
COSTS = Costs(
    own_fat="bought",
    fat_kg={"raw-lard": Decimal("3.33")},
    hour=Decimal("17.77"),
    minutes_pour=Decimal(45),
    packing_bar=Decimal("0.28"),
    energy_pour=Decimal("1.11"),
)
PLACES = ("rack", "shelf", "retained", "returned", "store")


@dataclass
class Play:
    """A history being played: what has been opened, and chance."""

    writer: Writer
    chance: random.Random
    fats: list[str]
    batches: list[str]
    entries: list[int]

    def lot(self) -> str:
        """Some batch."""
        return self.chance.choice(self.batches or ["none"])

    def fat(self) -> str:
        """Some fat."""
        return self.chance.choice(self.fats or ["none"])


def _receive(p: Play) -> int:
    raw = p.chance.random() < 0.4
    code = f"F{len(p.fats)}"
    own = raw and p.chance.random() < 0.5
    paid = None if own or p.chance.random() < 0.2 else p.chance.randint(0, 5000)
    entry = p.writer.receive(
        STAMP,
        ReceiveFacts(
            lot_code=code,
            ingredient="raw-lard" if raw else "lard",
            mass_mg=p.chance.randint(1, 9_999_999),
            supplier="own animal" if own else "Farm",
            cost_cents=paid,
            currency="USD",
        ),
    )
    p.fats.append(code)
    return entry


def _use(p: Play, code: str, part: float) -> Use:
    lot = p.writer.lot(code)
    there = p.writer.held(lot.id, lot.unit).get("store", 0)
    return Use(lot_code=code, ingredient=lot.item, role="fat", mass_mg=max(1, int(part * there)))


def _render(p: Play) -> int:
    uses = tuple(_use(p, p.fat(), p.chance.random()) for _ in range(p.chance.randint(1, 2)))
    mass = max(1, sum(use.mass_mg for use in uses) // 2)
    code = f"F{len(p.fats)}"
    facts = ReceiveFacts(
        lot_code=code,
        ingredient="lard",
        mass_mg=mass,
        supplier="own rendering",
        made_from=uses,
    )
    entry = p.writer.receive(STAMP, facts)
    p.fats.append(code)
    return entry


def _pour(p: Play) -> int:
    uses = [_use(p, p.fat(), p.chance.random() / 2) for _ in range(2)]
    if p.batches and p.chance.random() < 0.4:
        bars = p.chance.randint(1, 4)
        soap = Use(lot_code=p.lot(), ingredient="soap", role="addition", mass_mg=9, bars=bars)
        uses.append(soap)
    code = f"B{len(p.batches)}"
    entry = p.writer.pour(
        STAMP,
        PourFacts(
            lot_code=code,
            recipe_code="DRF",
            recipe_version=1,
            uses=tuple(uses),
            batter_mg=10**9,
        ),
    )
    p.batches.append(code)
    return entry


def _unmould(p: Play) -> int:
    good = p.chance.choice((0, 1, 7, 20))
    return p.writer.unmould(STAMP, p.lot(), good, p.chance.randint(0, 2), 1, 1000)


def _spend(p: Play) -> int:
    code = p.chance.choice((p.lot(), p.fat(), ""))
    if p.chance.random() < 0.5:
        return p.writer.spend(STAMP, Spent(what="work", minutes=p.chance.randint(1, 99)), code)
    paid = Spent(what="energy", amount_cents=p.chance.randint(1, 999), currency="USD")
    return p.writer.spend(STAMP, paid, code)


def _bars(p: Play) -> int:
    return p.chance.randint(1, 6)


def _at(p: Play) -> str:
    return p.chance.choice(("rack", "rack", *PLACES))


ACTS: dict[str, Callable[[Play], int]] = {
    "receive": _receive,
    "render": _render,
    "pour": _pour,
    "unmould": _unmould,
    "spend": _spend,
    "release": lambda p: p.writer.decide(STAMP, p.lot(), "release", "fine"),
    "ship": lambda p: p.writer.ship(STAMP, p.lot(), _bars(p), _at(p), "C"),
    "return": lambda p: p.writer.take_back(STAMP, p.lot(), _bars(p), "C"),
    "retain": lambda p: p.writer.retain(STAMP, p.lot(), _bars(p), _at(p)),
    "give": lambda p: p.writer.give(STAMP, p.lot(), _bars(p), _at(p), "gift", "N"),
    "use": lambda p: p.writer.give(STAMP, p.lot(), _bars(p), _at(p), "own use"),
    "waste": lambda p: p.writer.waste(STAMP, p.lot(), _bars(p), _at(p), "broke"),
    "spill": lambda p: p.writer.waste(STAMP, p.fat(), _bars(p) * 1000, "store", "spilt"),
    "move": lambda p: p.writer.move(STAMP, p.lot(), _bars(p), "bars", _at(p), _at(p)),
    "count": lambda p: p.writer.count(STAMP, p.lot(), _at(p), _bars(p)),
    "weigh store": lambda p: p.writer.count(STAMP, p.fat(), "store", _bars(p) * 100_000),
    "undo": lambda p: p.writer.undo(STAMP, p.chance.choice(p.entries or [1]), "wrong"),
}
USUAL = ("receive", "receive", "render", "pour", "unmould", "release")


@pytest.fixture(scope="module")
def empty_ledger(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Ledger]:
    """One ledger; each history is rolled back."""
    path = tmp_path_factory.mktemp("flow") / "ledger.db"
    create(f"sqlite:///{path}")
    with open_ledger(f"sqlite:///{path}") as ledger:
        yield ledger


class _Over(Exception):
    """The history is over: nothing of it is kept."""


@pytest.mark.parametrize("kept_carry", [False, True])
@pytest.mark.parametrize("seed", range(12))
def test_no_cent_is_lost_in_any_history(empty_ledger: Ledger, seed: int, kept_carry: bool) -> None:
    """After every entry and every undo: cost in is cost out and on hand, and each part is right.

    What is on hand, piece by piece, is asked of the ledger's own stock; what each way took is
    asked of exact fractions, which know nothing of cents.
    """
    chance = random.Random(seed)
    costs = Costs(**{**vars_of(COSTS), "kept_carry": kept_carry})
    with contextlib.suppress(_Over), empty_ledger.write() as writer:
        writer.add_recipe(STAMP, code="DRF", text="x")
        play = Play(writer, chance, [], [], [])
        acts = [*USUAL, *(chance.choice(list(ACTS)) for _ in range(50))]
        taken = 0
        for name in acts:
            with contextlib.suppress(SoapstockError):
                play.entries.append(ACTS[name](play))
                taken += 1
            _check(Reader(writer.db), costs)
        assert taken > 12
        raise _Over


def vars_of(costs: Costs) -> dict[str, Any]:
    """A record's fields."""
    return {name: getattr(costs, name) for name in costs.__dataclass_fields__}


def _check(reader: Reader, costs: Costs) -> None:
    rows = reader.cost_rows(DAY)
    book = keep_book(rows, costs, "USD")
    whole = balance(book.flowed, book.money)
    bought = sum(sum(own.values()) for own in book.own.values())
    assert whole.came_in == bought
    assert whole.gap == 0
    _check_stock(reader, book, costs)
    _check_exact(book)
    _check_journal(book, rows, whole)


def _check_journal(book: Book, rows: Rows, whole: Balance) -> None:
    """The journal's accounts stand where the flow says: stock, and each way the cost went."""
    stands = {
        account: took - gave
        for (account, _), (took, gave) in sums(stock_lines(book, rows, "USD")).items()
    }
    stock = stands.get("materials", 0) + stands.get("soap", 0)
    assert stock == whole.on_hand
    for way in ("sold", "given", "wasted", "kept"):
        assert stands.get(way, 0) == getattr(whole, way)


def _check_stock(reader: Reader, book: Book, costs: Costs) -> None:
    there: dict[str, int] = defaultdict(int)
    for line in reader.stock():
        if line.place_kind not in {"mould", "retained"}:
            there[line.lot_code] += line.quantity
    for number, money in book.money.items():
        row = book.lots[number]
        if row.kind == "ingredient" or book.made.get(number, (0, 0))[0]:
            kept_all = money.went and money.went[-1][0].way == "kept" and not costs.kept_carry
            assert money.left == there[row.code] or kept_all
        assert money.left_cents >= 0
        if not money.left and number in book.made:
            assert money.left_cents == 0


def _check_exact(book: Book) -> None:
    """Each part is its exact fraction, but for a cent a lot on the way."""
    exact: dict[int, Fraction] = {}
    came: dict[int, Fraction] = defaultdict(Fraction)
    for lot in sorted(book.flowed, key=lambda one: one.id):
        exact[lot.id] = lot.own_cents + came[lot.id]
        for step, cents in book.money[lot.id].went:
            share = exact[lot.id] * step.quantity / (lot.pieces or 1)
            assert abs(share - cents) <= 2 * len(book.flowed)
            if step.way == "lot":
                came[step.into] += share


def test_an_unknown_cost_is_named_all_the_way() -> None:
    """Fat of unknown cost makes the soap's cost and the rebatched soap's unknown."""
    lots = [
        Lot(id=1, pieces=10, known=False),
        Lot(id=2, pieces=4, own_cents=8),
        Lot(id=3, pieces=1),
    ]
    steps = [Step(2, 1, "lot", 10, 2), Step(3, 2, "lot", 1, 3)]
    found = flow(lots, steps)
    assert found[3].unknown == {1}
    assert found[3].cents == 2
