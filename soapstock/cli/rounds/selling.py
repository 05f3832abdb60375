"""The evening after a market: kind by kind, how many were sold."""

from __future__ import annotations

from soapstock.cli.frame.asking import answer, somebody_answers, tell_again
from soapstock.cli.frame.output import say
from soapstock.desk.desk import Desk
from soapstock.enter.market import Kind
from soapstock.errors import BadInput
from soapstock.units import several
from soapstock.views.orders import ready_at


def ask_sold(desk: Desk, crate: str) -> list[Kind]:
    """Ask for each kind in the crate; nothing is entered yet.

    Raises:
        BadInput: a line of a pipe is wrong, or it ends too soon.
    """
    there = ready_at(desk, crate)
    if not there:
        say(f"No bars that may be sold stand at {crate}.")
        return []
    say("How many of each were sold? Enter is none. Ctrl-C stops, and nothing is entered.")
    return [Kind(recipe=code, sold=_one(name, bars)) for code, (name, bars) in there.items()]


def _one(name: str, bars: int) -> int:
    while True:
        typed = answer(f"    {name}, of {several(bars, 'bar')}")
        try:
            if typed is None:
                raise BadInput(f"no answer for {name}", hint="nothing was written")
            return _count(typed or "0", bars)
        except BadInput as err:
            if not somebody_answers():
                raise
            tell_again(err)


def _count(typed: str, bars: int) -> int:
    if not (typed.isascii() and typed.isdigit() and len(typed) < 6):
        raise BadInput(f"'{typed[:20]}' is not a count of bars", hint="write it like 5")
    if int(typed) > bars:
        raise BadInput(f"{several(bars, 'bar')} were there, not {typed}", hint="count again")
    return int(typed)
