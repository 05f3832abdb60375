"""`recipe add | list | show | retire | scale`."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from soapstock.cli.frame.output import (
    caution_line,
    cells,
    emit,
    emit_record,
    say,
    say_cautions,
    say_notes,
    table,
    tell_entered,
)
from soapstock.cli.frame.session import AsCsv, AsJson, On, Why, day_or_none, desk, offer_recipes
from soapstock.units import mass_words, parse_temperature_c

if TYPE_CHECKING:
    from soapstock.recipes.scaling import ScaledBatch


RECIPE_KEYS = ["code", "name", "version", "superfat_percent", "cure_days", "declared_g", "lye"]

Code = Annotated[
    str,
    typer.Argument(metavar="CODE", help="Recipe code, such as DRF.", autocompletion=offer_recipes),
]
Have = Annotated[
    str | None, typer.Option("--have", metavar="NAME=MASS", help="Scale to this much of one fat.")
]
FatTotal = Annotated[str | None, typer.Option("--fat", metavar="MASS", help="Scale to total fat.")]
Bars = Annotated[int | None, typer.Option("--bars", help="Scale to a count of bars.")]
Volume = Annotated[
    str | None, typer.Option("--volume", metavar="VOLUME", help="Scale to a mould's volume.")
]


def recipe_add(
    ctx: typer.Context, file: Annotated[Path, typer.Argument(help="Recipe as a TOML file.")]
) -> None:
    from soapstock.enter.recipe import add_recipe
    from soapstock.papers.designs import name_note
    from soapstock.recipes.scaled import cautions_of
    from soapstock.views.fill import line_for

    with desk(ctx) as opened:
        added = add_recipe(opened, file)
        note = name_note(opened, added.name)
        fill = line_for(opened, added.code)
    word = "added" if added.new else "is here already, unchanged:"
    say(f"Recipe {added.code} ({added.name}) {word} version {added.version}.")
    say_notes([note] if note else [])
    say_retired(added.code, added.retired)
    if fill:
        say(fill)
    if added.scaled is not None:
        say(f"For {mass_words(fat_total(added.scaled))} of fats:")
        print_judgement(added.scaled)
        say_cautions(cautions_of(added.scaled))


def recipe_list(ctx: typer.Context, as_json: AsJson = False, as_csv: AsCsv = False) -> None:
    from soapstock.views.recipes import list_recipes

    with desk(ctx) as opened:
        rows = list_recipes(opened)
    if emit(rows, as_json=as_json, as_csv=as_csv):
        return
    table(
        "Recipes",
        ["Code", "Name", "Ver", "SF %", "Days", "Net g", "Lye", "Fats"],
        [
            [*cells(row, RECIPE_KEYS), f"retired: {row.retired}" if row.retired else row.fats]
            for row in rows
        ],
        right=["Ver", "SF %", "Days", "Net g"],
        spare=["Ver", "SF %"],
        whole=["Code"],
        empty="none yet; add one with: soapstock recipe add FILE.toml",
    )


def recipe_retire(
    ctx: typer.Context,
    code: Code,
    why: Why = "",
    back: Annotated[bool, typer.Option("--back", help="Take it into use again.")] = False,
    on: On = None,
) -> None:
    """What was poured by it stays as it is."""
    from soapstock.enter.recipe import retire_recipe

    with desk(ctx) as opened:
        tell_entered(retire_recipe(opened, code, why, back=back, on=day_or_none(on)))


def recipe_show(
    ctx: typer.Context,
    code: Code,
    version: Annotated[int | None, typer.Option(help="Version; the latest unless given.")] = None,
) -> None:
    from soapstock.views.recipes import recipe_text

    with desk(ctx) as opened:
        text, found = recipe_text(opened, code, version)
    typer.echo(f"# version {found}")
    typer.echo(text.rstrip())
    typer.echo(f"# {caution_line()}")


def recipe_scale(
    ctx: typer.Context,
    code: Code,
    have: Have = None,
    fat: FatTotal = None,
    bars: Bars = None,
    volume: Volume = None,
    version: Annotated[int | None, typer.Option(help="Version; the latest unless given.")] = None,
    start: Annotated[
        str, typer.Option("--start", metavar="TEMP", help="Water and lye before mixing, as 20C.")
    ] = "20C",
    sheet: Annotated[
        Path | None, typer.Option("--sheet", metavar="FILE.pdf", help="Print the batch sheet too.")
    ] = None,
    pupil: Annotated[
        Path | None,
        typer.Option("--pupil", metavar="FILE.pdf", help="Print it to hand on: no lots, no notes."),
    ] = None,
    on: Annotated[
        str | None, typer.Option("--on", metavar="DATE", help="Day of the pour, for the sheet.")
    ] = None,
    explain: Annotated[
        bool, typer.Option("--explain", help="Say how each figure was got.")
    ] = False,
    as_json: AsJson = False,
    as_csv: AsCsv = False,
) -> None:
    """It prints the weigh list, the lye, the superfat, the verdict and the cautions."""
    from soapstock.papers.batch_sheet import print_batch_sheet, print_recipe_sheet
    from soapstock.recipes.scaled import cautions_of, scaled_row
    from soapstock.recipes.target import make_target
    from soapstock.views.fill import line_for
    from soapstock.views.pot import store_lacks
    from soapstock.views.recipes import scale_recipe

    target = make_target(have=have, fat=fat, bars=bars, volume=volume)
    start_c = parse_temperature_c(start, "--start")
    with desk(ctx) as shop, shop.reading() as (opened, _):
        recipe, found, scaled = scale_recipe(opened, code, target, version=version, start_c=start_c)
        fill = line_for(opened, recipe.code, float(scaled.batch_mass_g))
        lacks = store_lacks(opened, scaled)
        lot = None
        day = day_or_none(on) or opened.today
        if pupil is not None:
            print_recipe_sheet(opened, recipe, found, scaled, pupil, day)
        if sheet is not None:
            lot = print_batch_sheet(opened, recipe, found, scaled, sheet, day)
    if as_json:
        emit_record(scaled_row(scaled))
        return
    if as_csv:
        emit(_csv_rows(scaled), as_json=False, as_csv=True)
        return
    table(
        f"{recipe.code} {recipe.name}, version {found}, "
        f"for {mass_words(fat_total(scaled))} of fats",
        ["Weigh", "Mass", "When", "Note"],
        weigh_list(scaled),
        right=["Mass"],
        whole=["Mass"],
    )
    print_judgement(scaled)
    if fill:
        say(fill)
    if lacks:
        say(f"The store lacks {', '.join(lacks)}.")
    if explain:
        print_explanation(scaled)
    say_cautions(cautions_of(scaled))
    if pupil is not None:
        say("")
        say(f"Recipe sheet to hand on written to {pupil}.")
    if lot is not None:
        say("")
        say(f"Batch sheet for lot {lot.shown} written to {sheet}.")


def say_retired(code: str, why: str) -> None:
    """Say that a recipe is retired, if it is."""
    if why:
        say_notes([f"{code} is retired: {why}. Nothing is poured by it."])


def fat_total(scaled: ScaledBatch) -> Decimal:
    """All fats of a scaled batch, g."""
    return sum((line.mass_g for line in scaled.fats), Decimal(0))


def weigh_list(scaled: ScaledBatch) -> list[list[str]]:
    """What to weigh, as table rows."""
    rows = [
        [f.name, mass_words(f.mass_g), "fats", f"{f.share_percent:.1f} % of fats"]
        for f in scaled.fats
    ]
    for name, mass in (("NaOH", scaled.naoh_g), ("KOH", scaled.koh_g), ("Water", scaled.water_g)):
        if mass:
            rows.append([name, mass_words(mass), "lye", ""])
    for a in scaled.additions:
        mass_text = mass_words(a.mass_g) if a.mass_g is not None else "to shade"
        rows.append([a.name, mass_text, a.stage, a.note])
    return rows


def _csv_rows(scaled: ScaledBatch) -> list[dict[str, str]]:
    """The weigh list as rows, with the verdict and the cautions as rows of their own."""
    rows = [
        {"weigh": name, "mass_g": mass.removesuffix(" g"), "when": when, "note": note}
        for name, mass, when, note in weigh_list(scaled)
    ]
    said = f"{scaled.verdict.word}: {'; '.join(scaled.verdict.reasons)}"
    for name, note in (("verdict", said), ("caution", caution_line())):
        rows.append({"weigh": name, "mass_g": "", "when": "", "note": note})
    return rows


def print_judgement(scaled: ScaledBatch) -> None:
    """Print the figures and the verdict of a scaled batch."""
    from soapstock.recipes.scaled import figures_of

    for name, value in figures_of(scaled):
        say(f"{name}: {value}")
    say(f"Verdict: {scaled.verdict.word.upper()}")
    say_notes(scaled.verdict.reasons)
    if scaled.naoh_should_be_g is not None:
        should = f"{mass_words(scaled.naoh_should_be_g)} NaOH"
        if scaled.koh_should_be_g:
            should += f" and {mass_words(scaled.koh_should_be_g)} KOH"
        gives = f"as written, {mass_words(scaled.naoh_g)} gives {scaled.superfat.nominal:.1f} %"
        if scaled.verdict.word == "safe":
            say(f"For the usual superfat it would be {should}; {gives}: nothing to mend.")
        else:
            say(f"The lye should have been {should} for these fats; {gives}.")
    say_notes(scaled.notes)
    if scaled.peak is not None:
        say_notes(scaled.peak.warnings)


def print_explanation(scaled: ScaledBatch) -> None:
    """Say how each figure was got."""
    from soapstock.chemistry.fats import get_fat

    say("")
    say("How the figures were got")
    rows = []
    for line in scaled.fats:
        fat = get_fat(line.ingredient)
        rows.append(
            [
                fat.trade_name,
                f"{fat.sv.low:g}-{fat.sv.high:g}",
                f"{fat.sv_source} ({fat.sv_confidence})",
            ]
        )
    table("", ["Fat", "SV mg KOH/g", "Source"], rows, whole=["SV mg KOH/g"])
    notes = [
        "Lye demand = sum of fat mass x SV / 56.1053 (g x mg/g over g/mol: mmol); "
        "NaOH = demand x 39.9968 / 1000 x (1 - superfat / 100) / purity.",
        "Superfat = 1 - lye / demand, acids and the fat in milks among the demand. Its low end "
        "takes every SV at its lowest, the lye at its strongest and every mass a step of the scale "
        "off; its high end the reverse.",
    ]
    if scaled.peak is not None:
        notes.append(
            "Peak: enthalpy balance of the lye solution without heat loss (Olsson, Jernqvist and "
            "Aly 1997), an upper bound within 2 °C."
        )
    say_notes(notes)
    if scaled.study is not None:
        say_notes(scaled.study.explain())
