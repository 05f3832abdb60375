"""What was spent on a lot or on the shop."""

from __future__ import annotations

from datetime import date
from typing import cast, get_args

from soapstock.desk.desk import Desk
from soapstock.desk.finding import read_lot
from soapstock.enter.entered import Entered
from soapstock.enter.receive import cents
from soapstock.errors import BadInput
from soapstock.ledger.facts import Spent
from soapstock.money.book import SpentOn
from soapstock.money.share import amount as shown_amount

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
