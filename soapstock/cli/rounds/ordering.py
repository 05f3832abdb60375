"""Orders at the prompt, one a line, each kept as soon as typed."""

from __future__ import annotations

from datetime import date

from soapstock.cli.frame.asking import answer, somebody_answers, tell_again
from soapstock.cli.frame.output import say, tell_entered
from soapstock.desk.desk import Desk
from soapstock.enter import orders
from soapstock.enter.entered import Entered
from soapstock.errors import BadInput, NotFound, RuleBroken


def order_all(desk: Desk, *, wanted_on: date | None, on: date | None, note: str) -> None:
    """Ask for orders until a line is empty.

    Raises:
        BadInput: a line of a pipe is wrong; what was read before it stands.
    """
    if desk.key is not None:
        raise BadInput("one key names one entry", hint="take one order at a time with it")
    say("Each order on a line: its reference, who, and the bars; as 17, A. Marsh, DRF=2 EBB=1")
    say("Enter ends; what was entered stands.")
    while typed := answer("    order, who, bars"):
        try:
            tell_entered(_one(desk, typed, wanted_on=wanted_on, on=on, note=note))
        except (BadInput, RuleBroken, NotFound) as err:
            if not somebody_answers():
                raise
            tell_again(err)


def _one(desk: Desk, typed: str, *, wanted_on: date | None, on: date | None, note: str) -> Entered:
    ref, first, rest = typed.partition(",")
    customer, second, lines = rest.rpartition(",")
    if not (first and second and ref.strip() and customer.strip() and lines.split()):
        raise BadInput(
            f"'{typed[:60]}' is not an order", hint="write it like 17, A. Marsh, DRF=2 EBB=1"
        )
    return orders.add(
        desk, ref, customer.strip(), lines.split(), wanted_on=wanted_on, on=on, note=note
    )
