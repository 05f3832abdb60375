"""The facts of a batch after the pour, from unmould to ship and count."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Literal

import typer

from soapstock.cli.output import say, say_notes
from soapstock.cli.session import From, Lot, Note, On, day_or_none, desk

if TYPE_CHECKING:
    from soapstock.enter.entered import Entered

BarCount = Annotated[int, typer.Argument(metavar="BARS", help="How many bars.")]
Why = Annotated[str, typer.Option("--why", help="The reason, kept with the entry.")]


def register(app: typer.Typer) -> None:
    """Add the commands of this file."""
    for name, command in (
        ("unmould", unmould),
        ("weigh", weigh),
        ("test", test),
        ("release", release),
        ("hold", hold),
        ("reject", reject),
        ("move", move),
        ("ship", ship),
        ("retain", retain),
        ("waste", waste),
        ("count", count),
    ):
        app.command(name)(command)


def _tell(entered: Entered) -> None:
    say(f"{entered.said} (entry {entered.entry_id})")
    say_notes(entered.notes)


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
    """Take a batch out of its mould: bars, rejects, and their mass."""
    from soapstock.enter import batch

    with desk(ctx) as opened:
        _tell(
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
    lot: Lot,
    mass: Annotated[
        str, typer.Argument(metavar="MASS", help="Mass of the counted bars, as 1180g.")
    ],
    bars: Annotated[int, typer.Option(help="How many bars were on the scale.")],
    place: Annotated[str | None, typer.Option(help="Where they stand.")] = None,
    room: Annotated[str | None, typer.Option(metavar="TEMP", help="Room temperature.")] = None,
    rh: Annotated[float | None, typer.Option(help="Room humidity, % RH.")] = None,
    on: On = None,
    note: Note = "",
) -> None:
    """Weigh a counted set of bars. More bars on the scale, surer answers."""
    from soapstock.enter import batch
    from soapstock.units import parse_temperature_c

    with desk(ctx) as opened:
        _tell(
            batch.weigh(
                opened,
                lot,
                bars,
                mass,
                place=place,
                room_c=parse_temperature_c(room, "--room") if room else None,
                room_rh=rh,
                on=day_or_none(on),
                note=note,
            )
        )


def test(
    ctx: typer.Context,
    lot: Lot,
    method: Annotated[str, typer.Option(help="tongue, phenolphthalein, titration or ph.")],
    passed: Annotated[bool | None, typer.Option("--pass/--fail", help="The outcome.")] = None,
    value: Annotated[str, typer.Option(help="Figure of a titration (% NaOH) or pH.")] = "",
    on: On = None,
    note: Note = "",
) -> None:
    """Record a free-alkali test."""
    from soapstock.enter import batch

    with desk(ctx) as opened:
        _tell(
            batch.test(
                opened, lot, method, passed=passed, value=value, on=day_or_none(on), note=note
            )
        )


def _decide(
    ctx: typer.Context,
    lot: str,
    decision: Literal["release", "hold", "reject"],
    why: str,
    on: str | None,
) -> None:
    from soapstock.enter.decide import decide

    with desk(ctx) as opened:
        _tell(decide(opened, lot, decision, why, on=day_or_none(on)))


def release(ctx: typer.Context, lot: Lot, why: Why = "", on: On = None) -> None:
    """Release a batch for sale, when all its other gates are open."""
    _decide(ctx, lot, "release", why, on)


def hold(ctx: typer.Context, lot: Lot, why: Why = "", on: On = None) -> None:
    """Put a batch on hold: nothing of it may ship."""
    _decide(ctx, lot, "hold", why, on)


def reject(ctx: typer.Context, lot: Lot, why: Why = "", on: On = None) -> None:
    """Reject a batch for good."""
    _decide(ctx, lot, "reject", why, on)


def move(
    ctx: typer.Context,
    lot: Lot,
    bars: BarCount,
    to: Annotated[str, typer.Option(metavar="PLACE", help="Where they go.")],
    from_place: From = None,
    on: On = None,
    note: Note = "",
) -> None:
    """Move bars to another place; returned ones need a note that says why they may go back."""
    from soapstock.enter import move as enter_move

    with desk(ctx) as opened:
        done = enter_move.move(
            opened, lot, bars, to, from_place=from_place, on=day_or_none(on), note=note
        )
        _tell(done)


def ship(
    ctx: typer.Context,
    lot: Lot,
    bars: BarCount,
    to: Annotated[str, typer.Option(metavar="CUSTOMER", help="Who receives them.")] = "",
    order: Annotated[str, typer.Option(help="Order reference.")] = "",
    destination: Annotated[str, typer.Option(help="Where they go, such as a state.")] = "",
    from_place: From = None,
    on: On = None,
    note: Note = "",
) -> None:
    """Ship released bars to a customer."""
    from soapstock.enter import move as enter_move

    with desk(ctx) as opened:
        _tell(
            enter_move.ship(
                opened,
                lot,
                bars,
                customer=to,
                order_ref=order,
                destination=destination,
                from_place=from_place,
                on=day_or_none(on),
                note=note,
            )
        )


def retain(
    ctx: typer.Context, lot: Lot, bars: BarCount, from_place: From = None, on: On = None
) -> None:
    """Keep bars back as retained samples."""
    from soapstock.enter import move as enter_move

    with desk(ctx) as opened:
        _tell(enter_move.retain(opened, lot, bars, from_place=from_place, on=day_or_none(on)))


def waste(
    ctx: typer.Context,
    lot: Lot,
    quantity: Annotated[str, typer.Argument(metavar="QUANTITY", help="Bars, or a mass.")],
    why: Why = "",
    from_place: From = None,
    on: On = None,
) -> None:
    """Take bars, or a mass of an ingredient lot, out as waste."""
    from soapstock.enter import move as enter_move

    with desk(ctx) as opened:
        _tell(
            enter_move.waste(opened, lot, quantity, why, from_place=from_place, on=day_or_none(on))
        )


def count(
    ctx: typer.Context,
    lot: Lot,
    place: Annotated[str, typer.Argument(metavar="PLACE", help="Where you counted.")],
    counted: Annotated[str, typer.Argument(metavar="QUANTITY", help="Bars, or a mass.")],
    on: On = None,
    note: Note = "",
) -> None:
    """Record a count; a difference to the book is posted openly."""
    from soapstock.enter import move as enter_move

    with desk(ctx) as opened:
        _tell(enter_move.count(opened, lot, place, counted, on=day_or_none(on), note=note))
