"""The round with the scale: batch by batch, each weigh-in kept as soon as it is typed."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date

from soapstock.cli.frame.asking import answer, in_grams, somebody_answers, tell_again
from soapstock.cli.frame.output import say, tell_entered
from soapstock.desk.desk import Desk
from soapstock.enter.entered import Entered
from soapstock.errors import BadInput, NotFound, RuleBroken
from soapstock.units import several
from soapstock.views.weighing import Stop, weigh_round


def weigh_all(
    desk: Desk,
    lots: Sequence[str],
    *,
    place: str | None,
    room_c: float | None,
    room_rh: float | None,
    on: date | None,
    note: str,
) -> None:
    """Ask for the mass of each batch of the round.

    Raises:
        BadInput: a line of a pipe is wrong; what was read before it stands.
    """
    from soapstock.enter import batch

    if desk.key is not None:
        raise BadInput("one key names one entry", hint="weigh one batch at a time with it")
    stops = weigh_round(desk, lots, place)
    if not stops:
        none = f"No bars stand at {place}." if place else "No weigh-in pays today."
        say(f"{none} Name lots to weigh them all the same.")
        return
    say("The mass of the bars on the scale: 1180 is grams; 1180/9 when there are 9 of them.")
    say("Enter skips a batch; Ctrl-C stops, and what was entered stands.")
    for number, stop in enumerate(stops, 1):

        def enter(typed: str, stop: Stop = stop) -> Entered:
            mass, bars = _read(typed, stop)
            return batch.weigh(
                desk,
                stop.lot_code,
                bars,
                mass,
                place=place,
                room_c=room_c,
                room_rh=room_rh,
                on=on,
                note=note,
            )

        _one(stop, f"{number}/{len(stops)}", enter)


def _one(stop: Stop, turn: str, enter: Callable[[str], Entered]) -> None:
    """Ask for one batch until its mass is taken or it is skipped."""
    bars = several(stop.bars, "bar")
    last = f" (last {stop.last})" if stop.last else ""
    say(f"{turn} {stop.place}: {stop.lot_code.shown} {stop.name}{last}")
    while typed := answer(f"    g of {bars}"):
        try:
            tell_entered(enter(typed))
        except (BadInput, RuleBroken, NotFound) as err:
            if not somebody_answers():
                raise
            tell_again(err)
        else:
            return


def _read(typed: str, stop: Stop) -> tuple[str, int]:
    """The mass, with its unit, and the count of bars of an answer such as `1180` or `1180/9`."""
    mass, slash, count = typed.partition("/")
    count = count.strip()
    if not slash:
        return in_grams(mass), stop.bars
    if not (count.isascii() and count.isdigit() and len(count) < 6 and int(count) > 0):
        raise BadInput(f"'{count[:20]}' is not a count of bars", hint="write it like 1180/9")
    if int(count) > stop.there:
        raise BadInput(
            f"{stop.lot_code.shown} has {several(stop.there, 'bar')}, not {count}",
            hint="count those on the scale",
        )
    return in_grams(mass), int(count)
