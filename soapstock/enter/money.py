"""What was spent, prices, and what bars were sold for."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, cast, get_args

from soapstock.desk.desk import Desk
from soapstock.desk.finding import find_recipe, read_lot
from soapstock.enter.entered import Entered
from soapstock.enter.receive import cents
from soapstock.errors import BadInput, Mend
from soapstock.ledger.facts import Price, Sale, Spent
from soapstock.money.book import SpentOn
from soapstock.money.share import amount as shown_amount
from soapstock.money.share import apportion

if TYPE_CHECKING:
    from soapstock.ledger.read.reader import Reader

DIRECT = "direct"  # the kind of buyer when nobody says
_BUYER = re.compile(r"[a-z][a-z0-9 -]{0,38}")

WHOLE_SHOP = "-"


def spend(
    desk: Desk, lot: str, what: str, amount: str, *, on: date | None = None, note: str = ""
) -> Entered:
    """Record work on a lot, in minutes, or money spent on it; `-` is the whole shop.

    Raises:
        BadInput: not minutes, not an amount, or not something one spends on.
    """
    kinds = get_args(SpentOn)
    if what not in kinds:
        raise BadInput(f"spent on '{what[:40]}'?", hint=f"one of: {', '.join(kinds)}")
    minutes = paid = None
    if what == "work":
        if not (amount.isascii() and amount.isdigit() and 0 < len(amount) < 6):
            raise BadInput(f"'{amount[:40]}' is no number of minutes", hint="write it like 95")
        minutes = int(amount)
    else:
        paid = cents(amount)
    spent = Spent(
        what=cast("SpentOn", what),
        minutes=minutes,
        amount_cents=paid,
        currency="" if paid is None else desk.shop.currency,
    )
    stamp = desk.stamp(on, note)
    with desk.writing() as (here, writer):
        code = None if lot == WHOLE_SHOP else read_lot(here, lot)
        entry = writer.spend(stamp, spent, code or "")
    much = f"{minutes} minutes" if paid is None else f"{shown_amount(paid)} {desk.shop.currency}"
    where = "the shop as a whole" if code is None else code.shown
    return Entered(entry_id=entry, lot_code=code, said=f"Spent {much} on {where}: {what}.")


@dataclass(frozen=True, slots=True, kw_only=True)
class Terms:
    """What bars are sold for, as typed; amounts as people write them.

    Attributes:
        buyer: kind of buyer, such as `wholesale`.
        price: of one bar, before tax; empty takes the list's.
        discount, postage, tax: of the whole parcel; tax comes on top.
    """

    buyer: str = ""
    price: str = ""
    discount: str = ""
    postage: str = ""
    tax: str = ""

    @property
    def kind(self) -> str:
        """The kind of buyer. Raises BadInput."""
        return buyer_kind(self.buyer)

    @property
    def asks_price(self) -> bool:
        """Whether something was said that makes no sense without a price."""
        return any((self.price, self.discount, self.postage, self.tax))


def buyer_kind(text: str) -> str:
    """A kind of buyer, `direct` unless one is named. Raises BadInput."""
    kind = text.strip().lower() or DIRECT
    if not _BUYER.fullmatch(kind):
        raise BadInput(
            f"'{text[:40]}' is no kind of buyer", hint="one or two words, such as wholesale"
        )
    return kind


def sales_of(
    desk: Desk,
    reader: Reader,
    parcel: Sequence[tuple[str, int]],
    terms: Terms,
    day: date,
    agreed: Mapping[str, int] | None = None,
) -> list[Sale | None]:
    """What each part of a parcel is sold for: at the price typed, else agreed, else listed.

    A discount and tax are shared over the parts by what they cost; postage stands with the first.

    Args:
        parcel: recipe code and bars of each part.
        agreed: price of a bar in cents by recipe code, as the order says.

    Raises:
        BadInput: an amount that is none, or an amount on top of no price.
    """
    listed = reader.price_list(day)
    typed = cents(terms.price)
    each: list[int | None] = []
    for code, _ in parcel:
        on_list = listed.get((code, terms.kind))
        found = typed if typed is not None else (agreed or {}).get(code)
        each.append(found if found is not None or on_list is None else on_list.price_cents)
    goods = [
        0 if price is None else price * bars for price, (_, bars) in zip(each, parcel, strict=True)
    ]
    if terms.asks_price and None in each:
        code = parcel[each.index(None)][0]
        raise BadInput(
            f"{code} had no price for a {terms.kind} buyer on {day}",
            mend=Mend("set_price", recipe=code, buyer=terms.kind, day=day),
        )
    discount, tax = (
        apportion(cents(text) or 0, goods) if any(goods) else [0] * len(goods)
        for text in (terms.discount, terms.tax)
    )
    postage = cents(terms.postage) or 0
    return [
        None
        if price is None
        else Sale(
            buyer=terms.kind,
            price_cents=price,
            discount_cents=discount[n],
            tax_cents=tax[n],
            postage_cents=postage if n == 0 else 0,
            currency=desk.shop.currency,
        )
        for n, price in enumerate(each)
    ]


def told(desk: Desk, sales: Sequence[Sale | None], bars: Sequence[int]) -> str:
    """What a parcel was sold for in words; empty where nothing has a price."""
    priced = [(sale, n) for sale, n in zip(sales, bars, strict=True) if sale is not None]
    if not priced:
        return ""
    goods = sum(sale.goods_cents(n) for sale, n in priced)
    more = sum(sale.postage_cents + sale.tax_cents for sale, _ in priced)
    said = f"{shown_amount(goods)} {desk.shop.currency}"
    if more:
        said += f", {shown_amount(goods + more)} with postage and tax"
    missing = sum(n for sale, n in zip(sales, bars, strict=True) if sale is None)
    return said + (f"; {missing} bars have no price" if missing else "")


def charge(desk: Desk, sold: int, terms: Terms, *, on: date | None = None) -> Entered:
    """Say, or say anew, what bars were sold for that left before.

    Raises:
        BadInput: no price; NotFound: the entry sold no bars; RuleBroken: it stands on an invoice.
    """
    stamp = desk.stamp(on)
    with desk.writing() as (here, writer), here.ledger.read() as reader:
        found = next((t for t in reader.traded(here.today) if t.entry == sold), None)
        bars = abs(found.bars) if found is not None else 0
        code = found.recipe_code if found is not None else ""
        (sale,) = sales_of(here, reader, [(code, bars)], terms, found.on if found else here.today)
        if sale is None:
            day = found.on if found is not None else here.today
            raise BadInput(
                f"{code or 'it'} had no price for a {terms.kind} buyer on {day}",
                mend=Mend("set_price", recipe=code or "RECIPE", buyer=terms.kind, day=day),
            )
        entry = writer.charge(stamp, sold, sale)
    said = f"Entry {sold}: {told(desk, [sale], [bars])}."
    return Entered(entry_id=entry, lot_code=None if found is None else found.lot_code, said=said)


def set_price(
    desk: Desk, recipe: str, price: str, *, buyer: str = "", on: date | None = None
) -> Entered:
    """Say what a bar of a recipe sells for from a day on; `none` takes it off the list."""
    kind = buyer_kind(buyer)
    each = None if price.strip().lower() == "none" else cents(price)
    if each is None and price.strip().lower() != "none":
        raise BadInput("no price was given", hint="write it like 7.50, or none")
    stamp = desk.stamp(on)
    with desk.writing() as (here, writer), here.ledger.read() as reader:
        found, _ = find_recipe(reader, recipe)
        fact = Price(
            recipe_code=found.code, buyer=kind, price_cents=each, currency=desk.shop.currency
        )
        entry = writer.set_price(stamp, fact)
    what = "no price" if each is None else f"{shown_amount(each)} {desk.shop.currency} a bar"
    said = f"{found.name}, {kind}: {what} from {stamp.happened_on.isoformat()} on."
    return Entered(entry_id=entry, lot_code=None, said=said)
