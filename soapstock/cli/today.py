"""`today`: what is to be done, on one screen."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Annotated

import typer

from soapstock.cli.frame.output import emit, say, table
from soapstock.cli.frame.session import AsCsv, AsJson, desk
from soapstock.units import day_words

if TYPE_CHECKING:
    from collections.abc import Sequence

    from soapstock.views.today import Step


def today(
    ctx: typer.Context,
    days: Annotated[int, typer.Option(help="Look so many days ahead for what expires.")] = 60,
    as_json: AsJson = False,
    as_csv: AsCsv = False,
) -> None:
    """The next step of each batch and order, what runs low or expires, and what to pour next."""
    from soapstock.views import today as today_view
    from soapstock.views.plan import pour_next

    with desk(ctx) as shop, shop.reading() as (opened, _):
        found = today_view.steps(opened, days)
        day = opened.today
        pour = "" if as_json or as_csv else pour_next(opened)
    if emit((today_view.step_row(step, day) for step in found), as_json=as_json, as_csv=as_csv):
        return
    now = [step for step in found if step.is_due(day)]
    _print(f"To do on {day.isoformat()}", now, day, "nothing")
    later = [step for step in found if not step.is_due(day)]
    if later:
        _print("Coming", later, day, "")
    say(pour)


def _print(title: str, found: Sequence[Step], day: date, empty: str) -> None:
    table(
        title,
        ["What", "Of", "Why", "When"],
        [[step.what, step.about, _why(step), _when(step, day)] for step in found],
        whole=["What", "Of", "When"],
        empty=empty,
    )


def _why(step: Step) -> str:
    return ": ".join(filter(None, [step.name, step.why]))


def _when(step: Step, day: date) -> str:
    """`today`, `3 d late`, or the day; what has stood since a day is dated by it."""
    if step.due is None:
        return ""
    if step.what in ("failed", "on hold", "expired", "expires") or step.due > day:
        return day_words(step.due, day)
    late = (day - step.due).days
    return f"{late} d late" if late else "today"
