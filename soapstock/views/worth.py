"""What bars earn, by variety, batch or kind of buyer; an hour's wage, and the price for one."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import ROUND_HALF_EVEN, ROUND_UP, Decimal
from typing import Literal, NamedTuple, get_args

from soapstock.codes.lot import LotCode
from soapstock.desk.desk import Desk, one_snapshot
from soapstock.desk.finding import find_recipe
from soapstock.errors import BadInput
from soapstock.ledger.read.money import Traded
from soapstock.money.book import Book
from soapstock.money.share import amount
from soapstock.views.cost import book_of, unknown_words

By = Literal["recipe", "batch", "buyer"]
CENT = Decimal("0.01")


class Sold(NamedTuple):
    """Bars of one lot that one entry sold, or took back, and what that is in money and time.

    `cents` is what they brought in less the discount, `cost_cents` what they cost, `seconds` the
    work in them; `fat_mg` the scarce fat.
    """

    traded: Traded
    bars: int
    cents: int
    cost_cents: int
    seconds: int
    fat_mg: float


@dataclass(slots=True)
class Sum:
    """A sum over sold bars; `unpriced` of them brought in nobody knows what and count apart."""

    bars: int = 0
    unpriced: int = 0
    cents: int = 0
    cost_cents: int = 0
    seconds: int = 0
    fat_mg: float = 0.0
    lots: set[int] = field(default_factory=set)

    def add(self, sold: Sold) -> None:
        """Count some more."""
        self.lots.add(sold.traded.lot)
        if sold.traded.sale is None:
            self.unpriced += sold.bars
            return
        self.bars += sold.bars
        self.cents += sold.cents
        self.cost_cents += sold.cost_cents
        self.seconds += sold.seconds
        self.fat_mg += sold.fat_mg

    @property
    def margin_cents(self) -> int:
        """What they brought in less what they cost."""
        return self.cents - self.cost_cents


@dataclass(frozen=True, slots=True, kw_only=True)
class WorthRow:
    """What bars of one kind earned.

    Attributes:
        sold: bars sold at a known price, less those that came back; `unpriced` come on top.
        margin: income less the cost of those bars, which counts work only where the shop gives an
            hour a value.
        hour: what an hour of work on them earned; None without work on record.
        a_kg_fat: margin a kg of the scarce fat in them.
        price: what a bar must bring in for the wage wanted.
        unknown: lots whose cost nobody knows; margin and hour are too high by it.
    """

    what: str
    name: str
    sold: int
    unpriced: int
    income: Decimal
    cost: Decimal
    margin: Decimal
    hours: Decimal
    hour: Decimal | None
    a_kg_fat: Decimal | None
    price: Decimal | None
    unknown: tuple[str, ...]


def sold_of(book: Book, traded: Iterable[Traded], fat: str = "") -> list[Sold]:
    """Every sale with what it cost and the work in it.

    Args:
        fat: an ingredient's key; its mass in the bars is told.
    """
    cost = _of_steps(book, "money")
    work = _of_steps(book, "worked")
    found = []
    for one in traded:
        if one.given_for:
            continue
        key = (one.entry, one.lot)
        fat_mg = one.bars * fat_of_bar_mg(book, one.lot, fat) if fat else 0.0
        found.append(
            Sold(one, one.bars, one.goods_cents, cost.get(key, 0), work.get(key, 0), fat_mg)
        )
    return found


def _of_steps(book: Book, which: Literal["money", "worked"]) -> dict[tuple[int, int], int]:
    flowed = book.money if which == "money" else book.worked
    return {
        (step.entry, step.lot): part
        for one in flowed.values()
        for step, part in one.went
        if step.way == "sold"
    }


def fat_of_bar_mg(book: Book, lot: int, fat: str) -> float:
    """Mass of an ingredient that went into the pot for a good bar of a batch, mg."""
    good = book.made.get(lot, (0, 0))[0]
    if not good:
        return 0.0
    used = sum(s.quantity for s, _ in book.money[lot].came if book.lots[s.lot].item == fat)
    return used / good


def earned_an_hour(desk: Desk, margin_cents: int, seconds: int) -> Decimal | None:
    """What an hour of work earned: margin over hours, and what the cost counts for it."""
    if seconds <= 0:
        return None
    an_hour = amount(margin_cents) * 3600 / seconds + (desk.shop.costs.hour or 0)
    return an_hour.quantize(CENT, rounding=ROUND_HALF_EVEN)


@one_snapshot
def worth(
    desk: Desk,
    by: str = "recipe",
    *,
    fat: str = "",
    wage: Decimal | None = None,
    since: date | None = None,
) -> list[WorthRow]:
    """What bars earned, what earned most an hour first.

    Args:
        by: `recipe`, `batch` or `buyer`.
        fat: the scarce fat, an ingredient's key.
        wage: what an hour should earn; the shop's own unless given.
        since: only what was sold from that day on.

    Raises:
        BadInput: by something else.
    """
    if by not in get_args(By):
        raise BadInput(f"by '{by[:40]}'?", hint=f"one of: {', '.join(get_args(By))}")
    with desk.ledger.read() as reader:
        book = book_of(desk, reader)
        traded = [t for t in reader.traded(desk.today) if since is None or t.on >= since]
        codes = sorted({lot.item for lot in book.lots.values() if lot.kind == "batch"})
        names = {code: find_recipe(reader, code)[0].name for code in codes}
    sums: dict[str, Sum] = defaultdict(Sum)
    key = _KEYS[by]
    for sold in sold_of(book, traded, fat):
        sums[key(sold.traded)].add(sold)
    asked = wage if wage is not None else desk.shop.costs.wage
    prices = _prices(desk, book, by, asked)
    rows = [
        _row(desk, book, what, sums.get(what, Sum()), names, fat, prices.get(what, (None, [])))
        for what in sorted({*sums, *prices})
    ]
    return sorted(rows, key=lambda r: (r.hour is None, -(r.hour or 0), -r.margin, r.what))


_KEYS: Mapping[str, Callable[[Traded], str]] = {
    "recipe": lambda one: one.recipe_code,
    "batch": lambda one: one.lot_code.shown,
    "buyer": lambda one: "not said" if one.sale is None else one.sale.buyer,
}


def _row(
    desk: Desk,
    book: Book,
    what: str,
    total: Sum,
    names: Mapping[str, str],
    fat: str,
    asked: tuple[Decimal | None, list[int]],
) -> WorthRow:
    price, priced = asked
    lots = sorted({*total.lots, *priced})
    unknown = {number for lot in lots for number in book.money[lot].unknown}
    kilograms = Decimal(total.fat_mg) / 1_000_000
    name = names.get(what, "")
    if not name and lots and what == LotCode(book.lots[lots[0]].code).shown:
        name = names[book.lots[lots[0]].item]
    return WorthRow(
        what=what,
        name=name,
        sold=total.bars,
        unpriced=total.unpriced,
        income=amount(total.cents),
        cost=amount(total.cost_cents),
        margin=amount(total.margin_cents),
        hours=(Decimal(total.seconds) / 3600).quantize(Decimal("0.1")),
        hour=earned_an_hour(desk, total.margin_cents, total.seconds),
        a_kg_fat=(amount(total.margin_cents) / kilograms).quantize(CENT)
        if fat and kilograms > 0
        else None,
        price=price,
        unknown=unknown_words(book, unknown),
    )


def _prices(
    desk: Desk, book: Book, by: str, wage: Decimal | None
) -> dict[str, tuple[Decimal | None, list[int]]]:
    """What a bar must bring in for a wage, and the batches that say so.

    It is the bar's cost without work, and the work at that wage.

    Of a variety it is taken over all its batches out of the mould; rounded up to the cent.
    """
    if wage is None or by == "buyer":
        return {}
    bars: dict[str, int] = defaultdict(int)
    cost: dict[str, Decimal] = defaultdict(Decimal)
    lots: dict[str, list[int]] = defaultdict(list)
    an_hour = desk.shop.costs.hour or Decimal(0)
    for lot in book.flowed:
        row = book.lots[lot.id]
        if lot.id not in book.made or lot.pieces <= 0:
            continue
        what = row.item if by == "recipe" else LotCode(row.code).shown
        hours = Decimal(book.worked[lot.id].cents) / 3600 if book.worked else Decimal(0)
        bars[what] += lot.pieces
        lots[what].append(lot.id)
        cost[what] += amount(book.money[lot.id].cents) + hours * (wage - an_hour)
    return {
        what: ((cost[what] / n).quantize(CENT, rounding=ROUND_UP), lots[what])
        for what, n in bars.items()
    }
