"""Facts of a batch: unmoulded, weighed, tested."""

from __future__ import annotations

import re
from datetime import date
from decimal import Decimal
from typing import get_args

from soapstock.codes.lot import LotCode
from soapstock.cure.words import Method
from soapstock.desk.desk import Desk
from soapstock.desk.finding import read_lot
from soapstock.enter.entered import Entered, bar_count
from soapstock.errors import BadInput, Mend, RuleBroken
from soapstock.tables import read_toml
from soapstock.units import format_g, mass_words, mg_from_g, parse_mass_g, several
from soapstock.views.batch import view


def unmould(
    desk: Desk,
    lot: str,
    bars: int,
    mass: str,
    *,
    counted: int | None = None,
    rejects: int = 0,
    place: str = "rack",
    on: date | None = None,
    note: str = "",
) -> Entered:
    """Record the unmoulding: good bars, rejects, and the mass of all or of a counted sample.

    Raises:
        RuleBroken: the bars weigh more than was poured.
    """
    bar_count(bars, "bars")
    bar_count(rejects, "rejects", least=0)
    sample = bar_count(counted if counted is not None else bars, "counted bars")
    mass_g = parse_mass_g(mass, "mass")
    stamp = desk.stamp(on, note)
    each_g = mass_g / sample
    with desk.writing() as (here, writer), here.ledger.read() as reader:
        code = read_lot(here, lot, kind="batch")
        poured_g = reader.batch(code).pour.batter_g
        if each_g * (bars + rejects) < poured_g / 2:
            raise RuleBroken(
                f"{several(bars + rejects, 'bar')} of {mass_words(each_g, 1)} make under half of "
                f"the {mass_words(poured_g, 0)} poured",
                hint="check the count, the mass and its unit",
            )
        entry = writer.unmould(
            stamp,
            code,
            bars=bars,
            rejects=rejects,
            counted_bars=sample,
            counted_mass_mg=mg_from_g(mass_g),
            place=place,
        )
    said = (
        f"Unmoulded {code.shown}: {several(bars, 'bar')} of {mass_words(each_g, 1)} on {place}"
        + (f", {rejects} rejected" if rejects else "")
        + "."
    )
    return Entered(entry_id=entry, lot_code=code, said=said)


def weigh(
    desk: Desk,
    lot: str,
    bars: int,
    mass: str,
    *,
    place: str | None = None,
    room_c: float | None = None,
    room_rh: float | None = None,
    on: date | None = None,
    note: str = "",
) -> Entered:
    """Record a weigh-in of a counted set of bars.

    Raises:
        RuleBroken: the bars cannot weigh that: heavier than poured or under bone-dry.
    """
    bar_count(bars, "bars")
    mass_g = parse_mass_g(mass, "mass")
    stamp = desk.stamp(on, note)
    each_g = mass_g / bars
    with desk.writing() as (here, writer), here.ledger.read() as reader:
        code = read_lot(here, lot, kind="batch")
        out = reader.batch(code).unmould
        start_g = None if out is None else out.bar_g
        if start_g is not None and not start_g / 2 <= each_g <= start_g * Decimal("1.1"):
            raise RuleBroken(
                f"{mass_words(each_g, 1)} a bar cannot be: "
                f"it was {mass_words(start_g, 1)} at unmoulding",
                hint="check the count, the mass, its unit and the tray's tare; nothing was written",
            )
        entry = writer.weigh(
            stamp,
            code,
            bars=bars,
            mass_mg=mg_from_g(mass_g),
            place=place,
            room_c=room_c,
            room_rh=room_rh,
        )
    lost = 100 * (1 - float(each_g / start_g)) if start_g is not None else 0.0
    said = f"Weighed {code.shown}: {mass_words(each_g, 1)} a bar, {lost:.1f} % under its start."
    return Entered(entry_id=entry, lot_code=code, said=said, notes=_weigh_notes(desk, code, each_g))


def _weigh_notes(desk: Desk, code: LotCode, each_g: Decimal) -> tuple[str, ...]:
    """What a weigh-in shows at once: under the declared weight, or a finding of the cure model."""
    item = view(desk, code)
    notes = [problem.message for problem in item.alarms]
    declared = item.recipe.declared_weight_g
    if declared is not None and each_g < declared:
        notes.insert(
            0,
            f"Under the declared {format_g(declared, 1)}: weigh again; if it stays, declare less.",
        )
    return tuple(notes)


def test(
    desk: Desk,
    lot: str,
    method: str,
    *,
    passed: bool | None,
    value: str = "",
    on: date | None = None,
    note: str = "",
) -> Entered:
    """Record a free-alkali test.

    A titration in % NaOH is judged against the limit of tables/release_tests.toml; a pH is only a
    check for gross error and never opens the tested gate. `zap` is a tongue test.
    """
    method = "tongue" if method.strip().lower() == "zap" else method
    if method not in get_args(Method):
        raise BadInput(f"no test '{method}'", hint=f"one of: {', '.join(get_args(Method))}")
    notes: tuple[str, ...] = ()
    if method in ("titration", "ph"):
        unit = "% NaOH" if method == "titration" else ""
        rule = read_toml("release_tests.toml")[method]
        limit = float(rule["value"])
        figure = _figure(value, method)
        judged = figure < limit or (figure == limit and bool(rule["limit_itself_passes"]))
        if passed is not None and passed and not judged:
            raise RuleBroken(
                f"{method} {figure:g} is not within the limit of {limit:g} {unit}".rstrip(),
                hint="the figure is judged by itself",
                mend=Mend("leave_result_out"),
            )
        passed = judged if passed is None else passed
        if method == "ph":
            notes = (
                "A pH only catches gross error; the tested gate also needs a tongue, "
                "phenolphthalein or titration test.",
            )
    if passed is None:
        raise BadInput("did it pass?", mend=Mend("give_result"))
    stamp = desk.stamp(on, note)
    with desk.writing() as (here, writer), here.ledger.read() as reader:
        code = read_lot(here, lot, kind="batch")
        out = reader.batch(code).unmould
        if out is None or stamp.happened_on < out.on:
            raise RuleBroken(
                f"{code.shown} was still in its mould then: a test of raw soap tells nothing",
                hint="unmould it, then test it",
            )
        entry = writer.test(stamp, code, method=method, passed=passed, value=value.strip())
    said = f"{code.shown}: {method} test {'passed' if passed else 'FAILED'}."
    if not passed:
        notes = (*notes, _FAILED)
    return Entered(entry_id=entry, lot_code=code, said=said, notes=notes)


_FAILED = (
    "Do not sell or use this batch: no bar of it ships. Only a titration within the limit clears "
    "it; undo this test if it was mistyped."
)


def _figure(text: str, method: str) -> float:
    match = re.fullmatch(r"\s*(\d{1,3}(?:\.\d+)?)\s*%?\s*(?:NaOH)?\s*", text, re.IGNORECASE)
    top = 14.0 if method == "ph" else 20.0
    if not match or float(match[1]) > top:
        raise BadInput(
            f"{method} '{text}' is not a number in range",
            hint="such as 0.05, in % NaOH" if method == "titration" else "such as 10.2",
        )
    return float(match[1])
