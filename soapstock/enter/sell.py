"""Bars sold over the table: several kinds in one go, without an order."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from datetime import date

from soapstock.desk.desk import Desk, on_day
from soapstock.desk.finding import find_recipe
from soapstock.enter.entered import Entered
from soapstock.enter.money import Terms, sales_of, told
from soapstock.enter.orders import order_line
from soapstock.errors import BadInput, Mend, RuleBroken
from soapstock.ledger.read.reader import Reader
from soapstock.units import several
from soapstock.views.orders import Take, lacking_words, pick


def sell(
    desk: Desk,
    lines: Sequence[str],
    at: str,
    *,
    destination: str = "",
    from_place: str = "",
    terms: Terms | None = None,
    on: date | None = None,
    note: str = "",
) -> tuple[Entered, list[Take]]:
    """Sell bars of several recipes, written like `DRF=4`, in one transaction, or none of them.

    Ready lots are taken, first expired first, but for bars kept for orders.

    Args:
        at: the market, or who buys: a recall names it.
        from_place: only from there.

    Raises:
        BadInput: not understood, or nobody named; RuleBroken: bars lack.
    """
    where = at.strip()
    if not where:
        raise BadInput("sell to whom?", mend=Mend("name_market"))
    stamp = desk.stamp(on, note)
    with desk.writing() as (here, writer), here.ledger.read() as reader:
        chosen = pick(on_day(here, on), _wanted(reader, lines), only=from_place)
        if chosen.lacking:
            raise RuleBroken(
                f"{lacking_words(chosen.lacking)} lack{' on ' + from_place if from_place else ''}",
                hint="only ready bars that are kept for nobody are sold; nothing was entered",
            )
        parcel = [(take.recipe_code, take.bars) for take in chosen.takes]
        sales = sales_of(here, reader, parcel, terms or Terms(), stamp.happened_on)
        entry = 0
        for take, sale in zip(chosen.takes, sales, strict=True):
            entry = writer.ship(
                stamp, take.lot_code, take.bars, take.place, where, "", destination, sale
            )
    bars = [take.bars for take in chosen.takes]
    paid = told(desk, sales, bars)
    said = f"Sold {several(sum(bars), 'bar')} at {where}{f' for {paid}' if paid else ''}."
    return Entered(entry_id=entry, lot_code=None, said=said), list(chosen.takes)


def _wanted(reader: Reader, lines: Sequence[str]) -> dict[str, int]:
    """Bars asked for by recipe."""
    asked: Counter[str] = Counter()
    for line in lines:
        code, bars = order_line(line)
        if not bars:
            raise BadInput(f"'{line[:40]}' sells no bar", hint="give one or more")
        asked[find_recipe(reader, code)[0].code] += bars
    return asked
