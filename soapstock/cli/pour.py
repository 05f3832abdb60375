"""`pour`: a batch is poured; judged before it is written."""

from __future__ import annotations

import sys
from collections.abc import Callable
from typing import TYPE_CHECKING, Annotated

import typer

from soapstock.cli.frame.asking import answer
from soapstock.cli.frame.output import say, say_cautions, say_notes, table
from soapstock.cli.frame.session import Note, On, day_or_none, desk
from soapstock.cli.recipe import Bars, Code, FatTotal, Have, Volume
from soapstock.errors import BadInput
from soapstock.units import g_from_mg, mass_words, parse_temperature_c

if TYPE_CHECKING:
    from soapstock.cli.rounds.pouring import Answers
    from soapstock.desk.desk import Desk
    from soapstock.enter.pour import Conditions, Poured


def pour(
    ctx: typer.Context,
    code: Code,
    weighed: Annotated[
        list[str] | None,
        typer.Option(
            "--weighed", "-w", metavar="NAME=MASS[@LOT]", help="A mass as weighed; repeat for each."
        ),
    ] = None,
    rebatch: Annotated[
        list[str] | None,
        typer.Option(
            "--rebatch", metavar="LOT=BARS:MASS", help="Bars of an earlier batch for this pot."
        ),
    ] = None,
    have: Have = None,
    fat: FatTotal = None,
    bars: Bars = None,
    volume: Volume = None,
    as_planned: Annotated[
        bool, typer.Option("--as-planned", help="All else was weighed as the plan says.")
    ] = False,
    lye_temp: Annotated[str | None, typer.Option(metavar="TEMP", help="Lye at pour.")] = None,
    fats_temp: Annotated[str | None, typer.Option(metavar="TEMP", help="Fats at pour.")] = None,
    peak: Annotated[
        str | None, typer.Option(metavar="TEMP", help="Peak of the lye solution.")
    ] = None,
    cooled: Annotated[
        float | None,
        typer.Option(metavar="MINUTES", help="Minutes from the peak to --lye-temp."),
    ] = None,
    room: Annotated[str | None, typer.Option(metavar="TEMP", help="Room.")] = None,
    rh: Annotated[float | None, typer.Option(help="Room humidity, % RH.")] = None,
    trace: Annotated[
        float | None, typer.Option(metavar="MINUTES", help="Minutes to trace.")
    ] = None,
    seized: Annotated[bool, typer.Option("--seized", help="It seized in the pot.")] = False,
    mould: Annotated[str, typer.Option(help="Which mould.")] = "",
    record_anyway: Annotated[
        str, typer.Option(metavar="REASON", help="Record a refused batch, on hold.")
    ] = "",
    sure: Annotated[
        bool, typer.Option("--sure", help="Masses far from the plan are right.")
    ] = False,
    on: On = None,
    note: Note = "",
) -> None:
    """Asks for each mass that is not given; Enter is as planned, ? says what else can be typed.

    Give --have, --fat, --bars or --volume to compare with the plan.
    """
    from soapstock.cli.rounds.pouring import Answers
    from soapstock.enter.pour import pour as record_pour
    from soapstock.recipes.target import make_target
    from soapstock.views.trace import after_pour

    planned = any(value is not None for value in (have, fat, bars, volume))
    target = make_target(have=have, fat=fat, bars=bars, volume=volume) if planned else None
    conditions = _conditions(lye_temp, fats_temp, peak, room, rh, cooled, trace, mould, seized)
    with desk(ctx) as opened:

        def record(answers: Answers) -> Poured:
            return record_pour(
                opened,
                code,
                answers.masses,
                target=answers.target,
                as_planned=as_planned,
                conditions=conditions,
                on=day_or_none(on),
                record_anyway=answers.anyway or record_anyway,
                sure=answers.sure or sure,
                note=note,
                rebatch=rebatch or (),
            )

        if as_planned or (weighed and not sys.stdin.isatty()):
            poured = record(Answers(masses=weighed or [], target=target))
        else:
            poured = ask_masses(opened, code, Answers(masses=weighed or [], target=target), record)
        notes = after_pour(opened, poured.lot_code)
    print_poured(poured, notes)


def _conditions(
    lye: str | None,
    fats: str | None,
    peak: str | None,
    room: str | None,
    rh: float | None,
    cooled: float | None,
    trace: float | None,
    mould: str,
    seized: bool,
) -> Conditions:
    from soapstock.enter.pour import Conditions

    def degrees(text: str | None, what: str) -> float | None:
        return parse_temperature_c(text, what) if text is not None else None

    return Conditions(
        lye_c=degrees(lye, "--lye-temp"),
        fats_c=degrees(fats, "--fats-temp"),
        peak_c=degrees(peak, "--peak"),
        room_c=degrees(room, "--room"),
        room_rh=rh,
        cooled_minutes=_minutes(cooled, "--cooled"),
        trace_minutes=_minutes(trace, "--trace"),
        mould=mould,
        seized=seized,
    )


def _minutes(minutes: float | None, what: str) -> float | None:

    if minutes is not None and not 0 <= minutes <= 1440:
        raise BadInput(f"{what} {minutes:g} minutes cannot be", hint="give minutes, up to a day")
    return minutes


def ask_masses(
    opened: Desk, code: str, given: Answers, record: Callable[[Answers], Poured]
) -> Poured:
    """Ask for each mass that is not given, in weighing order, until the pour is written.

    Raises:
        BadInput: nobody can be asked.
    """
    from soapstock.cli.rounds.pouring import PourRound
    from soapstock.desk.finding import find_recipe
    from soapstock.enter.pour import refuse_retired

    if not sys.stdin.isatty():
        raise BadInput("no masses given", hint="add --weighed NAME=MASS for each, or --as-planned")
    with opened.ledger.read() as reader:
        recipe, _ = find_recipe(reader, code)
        refuse_retired(reader, recipe.code)

    def ask(question: str) -> str:
        return answer(question) or ""

    return PourRound(opened=opened, recipe=recipe, given=given, ask=ask, record=record).run()


def print_poured(poured: Poured, notes: list[str]) -> None:
    """Say what was poured, from which lots, how it was judged, how it went, what comes next."""
    from soapstock.chemistry.cautions import lye_cautions
    from soapstock.chemistry.lye import span_text

    lot = poured.lot_code.shown
    rows = [
        [
            u.ingredient,
            mass_words(g_from_mg(u.mass_mg)),
            u.lot_shown,
        ]
        for u in poured.uses
    ]
    say(f"Poured {poured.recipe.name} as lot {lot} (entry {poured.entry_id})")
    table("", ["Ingredient", "Mass", "From lot"], rows, right=["Mass"], whole=["Mass", "From lot"])
    say(f"Superfat as weighed: {span_text(poured.judgement.superfat)}")
    say(f"Verdict: {poured.judgement.verdict.word.upper()}")
    say_notes(poured.judgement.verdict.reasons)
    say_notes(poured.judgement.differences)
    if poured.judgement.slip:
        say_notes([f"Likeliest slip: {poured.judgement.slip}"])
    say_notes(notes)
    if poured.held:
        say(f"{lot} is ON HOLD: its lye was refused. Keep it apart and off skin.")
    else:
        say_notes([f"Next: print its rack card (soapstock card {lot}), then unmould it tomorrow."])
    peak = poured.peak_c
    say_cautions(lye_cautions(peak), head="LYE BURNS. While the soap is raw, and at the next pour:")
