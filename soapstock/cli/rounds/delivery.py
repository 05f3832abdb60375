"""A delivery at the prompt: the supplier once, then line by line, each kept as soon as typed."""

from __future__ import annotations

from datetime import date

from soapstock.cli.frame.asking import answer, in_grams, somebody_answers, tell_again
from soapstock.cli.frame.output import say, tell_entered
from soapstock.desk.desk import Desk
from soapstock.enter.delivery import Came, read_line, receive_line
from soapstock.errors import BadInput, NotFound, RuleBroken


def receive_all(desk: Desk, supplier: str, *, sure: bool, on: date | None, note: str) -> None:
    """Ask for each line of a delivery until one is empty.

    Raises:
        BadInput: a line of a pipe is wrong; what was read before it stands.
    """
    if desk.key is not None:
        raise BadInput("one key names one entry", hint="receive one lot at a time with it")
    who = supplier or answer("From whom") or ""
    say("What came: ingredient, mass, their lot, cost, best-before; as olive, 5kg, 77A, 24.50")
    say("A mass without a unit is grams. Enter ends; what was entered stands.")
    while typed := answer("    what, how much"):
        try:
            tell_entered(
                receive_line(desk, _read(typed, desk.shop.days), who, sure=sure, on=on, note=note)
            )
        except (BadInput, RuleBroken, NotFound) as err:
            if not somebody_answers():
                raise
            tell_again(err)


def _read(typed: str, days: str) -> Came:
    from dataclasses import replace

    came = read_line(typed, days=days)
    return replace(came, mass=in_grams(came.mass))
