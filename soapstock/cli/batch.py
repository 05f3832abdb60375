"""The facts of a batch after the pour: unmould, weigh, test, release, hold, reject."""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path
from typing import Annotated

import typer

from soapstock.cli.frame.output import say, tell_entered
from soapstock.cli.frame.session import Lot, Note, On, Why, day_or_none, desk, offer_lots
from soapstock.cure.words import Decision
from soapstock.errors import BadInput
from soapstock.units import parse_temperature_c

Lots = Annotated[
    list[str],
    typer.Argument(metavar="LOT...", help="Lot codes.", autocompletion=offer_lots),
]


def unmould(
    ctx: typer.Context,
    lot: Lot,
    bars: Annotated[int, typer.Option(help="Good bars.")],
    mass: Annotated[str, typer.Option(help="Mass of all good bars, or of those counted.")],
    counted: Annotated[
        int | None, typer.Option(help="How many bars that mass is of, if not all.")
    ] = None,
    rejects: Annotated[int, typer.Option(help="Bars rejected.")] = 0,
    place: Annotated[str, typer.Option(help="Where the bars go.")] = "rack",
    on: On = None,
    note: Note = "",
) -> None:
    from soapstock.enter import batch

    with desk(ctx) as opened:
        tell_entered(
            batch.unmould(
                opened,
                lot,
                bars,
                mass,
                counted=counted,
                rejects=rejects,
                place=place,
                on=day_or_none(on),
                note=note,
            )
        )


def weigh(
    ctx: typer.Context,
    words: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="[LOT [MASS]]",
            help="A lot and the mass of its bars, as 1180g; lots alone are asked for.",
            autocompletion=offer_lots,
        ),
    ] = None,
    bars: Annotated[int | None, typer.Option(help="How many bars were on the scale.")] = None,
    place: Annotated[
        str | None, typer.Option(help="Where they stand; with no lot, all there are asked for.")
    ] = None,
    room: Annotated[str | None, typer.Option(metavar="TEMP", help="Room temperature.")] = None,
    rh: Annotated[float | None, typer.Option(help="Room humidity, % RH.")] = None,
    on: On = None,
    note: Note = "",
) -> None:
    """With no lot it asks, rack by rack, for each batch whose weigh-in pays today.

    More bars on the scale, surer answers.
    """
    from soapstock.cli.rounds.weighing import weigh_all
    from soapstock.enter import batch

    given = words or []
    room_c = parse_temperature_c(room, "--room") if room else None
    with desk(ctx) as opened:
        day = day_or_none(on)
        if bars is None:
            _refuse_mass(given)
            weigh_all(opened, given, place=place, room_c=room_c, room_rh=rh, on=day, note=note)
            return
        lot, mass = _lot_and_mass(given)
        tell_entered(
            batch.weigh(
                opened, lot, bars, mass, place=place, room_c=room_c, room_rh=rh, on=day, note=note
            )
        )


def _lot_and_mass(given: Sequence[str]) -> tuple[str, str]:
    if len(given) != 2:
        raise BadInput("a weigh-in is one lot and one mass", hint="write LOT MASS --bars N")
    return given[0], given[1]


def _refuse_mass(given: Sequence[str]) -> None:
    """Refuse a mass without its count of bars; lots alone are asked for."""
    for word in given:
        if re.fullmatch(r"[0-9.]+ *[a-zA-Z]+", word):
            raise BadInput(f"{word} of how many bars?", hint="add --bars N")


def test(
    ctx: typer.Context,
    lots: Lots,
    method: Annotated[str, typer.Option(help="tongue (zap), phenolphthalein, titration, ph.")],
    passed: Annotated[bool | None, typer.Option("--pass/--fail", help="The outcome.")] = None,
    value: Annotated[str, typer.Option(help="Figure of a titration (% NaOH) or pH.")] = "",
    release_why: Annotated[
        str, typer.Option("--release", metavar="WHY", help="If it passes, release it too: why.")
    ] = "",
    on: On = None,
    note: Note = "",
) -> None:
    """The same outcome for each lot named; all are entered, or none."""
    from soapstock.enter import batch

    with desk(ctx) as opened, opened.writing() as (here, _):
        done = [
            batch.test(here, lot, method, passed=passed, value=value, on=day_or_none(on), note=note)
            for lot in dict.fromkeys(lots)
        ]
    for entered in done:
        tell_entered(entered)
    if release_why:  # a test stands whatever becomes of the release
        _decide(ctx, lots, "release", release_why, on)


def _decide(
    ctx: typer.Context,
    lots: Sequence[str],
    decision: Decision,
    why: str,
    on: str | None,
) -> None:
    from soapstock.enter.decide import decide

    with desk(ctx) as opened, opened.writing() as (here, _):
        done = [decide(here, lot, decision, why, on=day_or_none(on)) for lot in dict.fromkeys(lots)]
    for entered in done:
        tell_entered(entered)


def declare(
    ctx: typer.Context,
    lot: Lot,
    mass: Annotated[str, typer.Argument(help="Net weight of a bar; leave out to be told.")] = "",
    why: Why = "",
    on: On = None,
) -> None:
    from soapstock.enter.declare import declare as enter_declared
    from soapstock.enter.declare import highest_g

    with desk(ctx) as opened:
        if mass:
            tell_entered(enter_declared(opened, lot, mass, why, on=day_or_none(on)))
        else:
            say(f"The highest weight that can honestly be promised: {highest_g(opened, lot)} g.")


def release(ctx: typer.Context, lots: Lots, why: Why = "", on: On = None) -> None:
    """An ingredient lot on hold is let go."""
    _decide(ctx, lots, "release", why, on)


def hold(ctx: typer.Context, lots: Lots, why: Why = "", on: On = None) -> None:
    _decide(ctx, lots, "hold", why, on)


def reject(ctx: typer.Context, lots: Lots, why: Why = "", on: On = None) -> None:
    _decide(ctx, lots, "reject", why, on)


def photo(
    ctx: typer.Context,
    lot: Lot,
    picture: Annotated[Path, typer.Argument(metavar="FILE", help="The photo: JPEG or PNG.")],
    on: On = None,
    note: Note = "",
) -> None:
    """It goes with the ledger into backups and other databases, and onto the batch record."""
    from soapstock.enter.photo import add_photo
    from soapstock.scan.photo import photo_file

    with desk(ctx) as opened:
        tell_entered(add_photo(opened, lot, photo_file(picture), on=day_or_none(on), note=note))
