"""`plan`: what to pour, when, and why no more."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from soapstock.cli.frame.output import (
    caution_line,
    emit_record,
    say,
    say_notes,
    table,
)
from soapstock.cli.frame.session import AsJson, check_range, day_or_none, desk, parse_day
from soapstock.errors import BadInput
from soapstock.units import day_words, format_kg, mass_words

if TYPE_CHECKING:
    from soapstock.planning.task import PourPlan
    from soapstock.planning.why import Give, OneMore
    from soapstock.views.plan import Planned

DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


def plan(
    ctx: typer.Context,
    launch: Annotated[
        str | None,
        typer.Option("--launch", metavar="DATE", help="Day the bars must be ready by; in 70 days."),
    ] = None,
    first: Annotated[
        str | None, typer.Option("--from", metavar="DATE", help="First day to pour on; today.")
    ] = None,
    selling: Annotated[
        int, typer.Option("--selling", help="Days after the launch whose sales they are for.")
    ] = 28,
    expect: Annotated[
        int | None, typer.Option("--expect", help="Bars you think will be asked for in all.")
    ] = None,
    favour: Annotated[
        list[str] | None,
        typer.Option("--favour", metavar="CODE=TIMES", help="So many times as much of one."),
    ] = None,
    no_buying: Annotated[
        bool, typer.Option("--no-buying", help="Use only what is in the store.")
    ] = False,
    why: Annotated[
        bool, typer.Option("--why", help="Say which limit binds, and what one more would bring.")
    ] = False,
    pdf: Annotated[
        Path | None,
        typer.Option("--pdf", metavar="FILE.pdf", help="Pours, moulds and racks over time."),
    ] = None,
    calendar: Annotated[
        Path | None,
        typer.Option("--calendar", metavar="FILE.ics", help="The pours as calendar entries."),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """It keeps to the fats you rendered, your moulds, racks and days; [workshop] in shop.toml."""
    from soapstock.papers import plan as papers
    from soapstock.views import plan as plans

    check_range("--selling", selling, 0, 366)
    check_range("--expect", expect, 1, 5000)
    with desk(ctx) as opened:
        start = day_or_none(first, "--from") or opened.today
        wish = plans.Wish(
            launch=parse_day(launch, "--launch") if launch else start + plans.USUAL_AHEAD,
            first=start,
            selling_days=selling,
            expected=expect,
            favour=_favours(favour or []),
            buying=not no_buying,
        )
        seen = plans.plan(opened, wish, why=why)
        if pdf is not None:
            papers.write_plan(opened, seen, pdf)
        if calendar is not None:
            papers.write_plan_calendar(opened, seen, calendar)
        if as_json:
            emit_record(plans.record(seen))
            return
        print_plan(seen, opened.today, why=why)
    for path in filter(None, (pdf, calendar)):
        say(f"Wrote {path}.")


def _favours(texts: list[str]) -> dict[str, float]:
    found = {}
    for text in texts:
        code, _, times = text.partition("=")
        try:
            found[code.strip().upper()] = float(times)
        except ValueError:
            raise BadInput(f"--favour '{text}'", hint="write it like DRF=1.5") from None
        if not 0 <= found[code.strip().upper()] <= 100:
            raise BadInput(f"--favour '{text}' is not 0 to 100 times")
    return found


def print_plan(seen: Planned, today: date, *, why: bool) -> None:
    """Print a plan: the next pour, the calendar, bars on the day, what to buy, what is left."""
    from soapstock.views.plan import next_pour

    say(next_pour(seen))
    if seen.gives:
        say("")
        say("No plan keeps every order. The least that must give, one of these:")
        say_notes(_give_text(seen, give) for give in seen.gives)
        if seen.plan is not None:
            say("Below, the orders give.")
    if seen.plan is not None:
        _print_calendar(seen, seen.plan, today)
    _print_varieties(seen, today)
    _print_stores(seen)
    if why and seen.plan is not None:
        _print_why(seen)
    if seen.notes:
        say("")
        say_notes(seen.notes)


def _print_calendar(seen: Planned, best: PourPlan, today: date) -> None:
    names = {s.code: s.name for s in seen.standings}
    late = {v.code: v.late_days for v in seen.task.varieties}
    say("")
    table(
        f"To pour for {seen.wish.launch.isoformat()}",
        ["Day", "Bar", "Bars", "Moulds", "Batter", "Ready by"],
        [
            [
                f"{p.day:%a} {day_words(p.day, today)}",
                names[p.code],
                str(p.bars),
                ", ".join(f"{n} {name}" for name, n in p.moulds),
                mass_words(round(p.batter_g)),
                day_words(p.day + timedelta(days=late[p.code]), today),
            ]
            for p in best.pours
        ],
        right=["Bars", "Batter"],
        whole=["Day", "Batter", "Ready by"],
        empty="nothing",
    )
    proof = "no plan is better" if not best.gap else f"at most {best.gap:.1f} could be better"
    say(f"Expected to sell: {best.sold:.0f} bars ({proof} within these limits).")
    if best.pours:
        _print_weeks(seen, today)


def _print_weeks(seen: Planned, today: date) -> None:
    from soapstock.views.plan_page import plan_page

    told = plan_page(seen)
    rack = "no limit" if told.rack_places is None else str(told.rack_places)
    say("")
    table(
        "Week by week",
        ["From", f"Moulds of {told.mould_count}", f"Rack of {rack}", "Poured", "Ready by its end"],
        [
            [
                day_words(week.from_, today),
                str(week.moulds),
                str(week.rack_bars),
                ", ".join(week.pours),
                ", ".join(week.ready),
            ]
            for week in told.weeks
        ],
        whole=["From"],
    )


def _print_varieties(seen: Planned, today: date) -> None:
    from soapstock.views.plan import sells_out_first

    of = {v.code: v for v in seen.task.varieties}
    rows = []
    for s in seen.standings:
        v, on_day = of[s.code], seen.on_day[s.code]
        last = seen.task.last_safe(v)
        low, high = f"{on_day.low:.0f}", f"{on_day.high:.0f}"
        rows.append(
            [
                s.name,
                str(s.ready),
                str(s.curing),
                str(s.in_mould),
                str(s.wanted + s.waits),
                f"{v.demand.at_chance(0.05)}-{v.demand.at_chance(0.95)}",
                low if low == high else f"{low}-{high}",
                day_words(last, today) if last else "too late",
            ]
        )
    say("")
    table(
        "Bars by variety",
        ["Bar", "Ready", "Curing", "Mould", "Wanted", "Asked for", "On the day", "Last safe pour"],
        rows,
        right=["Ready", "Curing", "Mould", "Wanted"],
        whole=["Bar", "Asked for", "On the day"],
    )
    until = seen.wish.launch + timedelta(days=seen.wish.selling_days)
    say(f"Asked for: from the first day to {day_words(until, today)}, 90 % sure.")
    first = sells_out_first(seen)
    if first is not None:
        name = next(s.name for s in seen.standings if s.code == first[0])
        say(f"{name} sells out first: a chance of {100 * first[1]:.0f} %.")


def _print_stores(seen: Planned) -> None:
    say("")
    if seen.to_buy_g:
        say("To buy before:")
        say_notes(f"{key}: {_kilos(mass)}" for key, mass in seen.to_buy_g.items())
        if {"naoh", "koh"} & set(seen.to_buy_g):
            say(caution_line())
    else:
        say("Nothing is to be bought.")
    for key, mass in seen.left_g.items():
        say(f"Left of {key}: {_kilos(mass)}.")
    names = {s.code: s.name for s in seen.standings}
    for key, earned in seen.a_kg_earns.items():
        told = ", ".join(f"{names[code]} {amount:.2f}" for code, amount in earned.items())
        if told:
            say(f"A kg of {key} earns, price less cost: {told}.")


def _kilos(mass_g: float) -> str:
    return format_kg(mass_g) if mass_g >= 1000 else f"{mass_g:.0f} g"


def _print_why(seen: Planned) -> None:
    say("")
    if not seen.binds:
        say("No limit binds: a further pot costs more than it may be expected to bring.")
        return
    say("What binds (each: the plan made again with one step more of it alone):")
    say_notes(_more_text(more) for more in seen.binds)
    say("What is not named here does not bind.")


def _more_text(more: OneMore) -> str:
    limit = more.limit
    what = {
        "mould": f"one more {limit.item} mould",
        "rack": f"{limit.step:.0f} more places on the rack",
        "scarce": f"{_kilos(limit.step)} more {limit.item}",
        "day": f"pouring on {DAYS[int(limit.item)]}s too" if limit.kind == "day" else "",
        "pot": f"a pot larger by {_kilos(limit.step)}",
        "promise": "",
    }[limit.kind]
    return f"{what}: {more.sold:+.1f} bars sold, as expected"


def _give_text(seen: Planned, give: Give) -> str:
    names = {s.code: s.name for s in seen.standings}
    if give.kind == "promise":
        cut = ", ".join(f"{bars} {names[code]}" for code, bars in give.fewer.items())
        return f"promise fewer bars by then: {cut}"
    return {
        "mould": f"{give.amount:.0f} more {give.item} moulds",
        "rack": f"{give.amount:.0f} more places on the rack",
        "scarce": f"{_kilos(give.amount)} more {give.item}",
        "day": f"pour on {DAYS[int(give.item)]}s too" if give.kind == "day" else "",
        "pot": f"a pot larger by {_kilos(give.amount)}",
    }[give.kind]
