"""What a day's selling at one place put into the box."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from soapstock.desk.desk import Desk, one_snapshot
from soapstock.money.share import amount


@dataclass(frozen=True, slots=True, kw_only=True)
class DayBox:
    """Bars that one market or buyer took on a day, less those that came back.

    Attributes:
        bars: by recipe.
        unpriced: bars among them that left at nobody knows what.
        goods, tax, postage: what they brought in; `total` is all of it.
    """

    at: str
    on: date
    bars: dict[str, int]
    unpriced: int
    goods: Decimal
    postage: Decimal
    tax: Decimal
    total: Decimal
    currency: str


@one_snapshot
def day_box(desk: Desk, at: str, on: date | None = None) -> DayBox:
    """The box of a place and a day, of the desk's day unless given."""
    day = on or desk.today
    with desk.ledger.read() as reader:
        taken = [
            t
            for t in reader.traded(day)
            if t.on == day and t.customer == at.strip() and not t.given_for
        ]
    bars: dict[str, int] = defaultdict(int)
    for one in taken:
        bars[one.recipe_code] += one.bars
    priced = [(t, t.sale) for t in taken if t.sale is not None]
    goods = sum(t.goods_cents for t, _ in priced)
    postage = sum(t.sign * sale.postage_cents for t, sale in priced)
    tax = sum(t.sign * sale.tax_cents for t, sale in priced)
    return DayBox(
        at=at.strip(),
        on=day,
        bars=dict(sorted(bars.items())),
        unpriced=sum(t.bars for t in taken if t.sale is None),
        goods=amount(goods),
        postage=amount(postage),
        tax=amount(tax),
        total=amount(goods + postage + tax),
        currency=desk.shop.currency,
    )
