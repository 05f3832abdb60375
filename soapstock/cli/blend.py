"""`recipe practice | swap | mould | composition`: what goes into the pot and the bar."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, Annotated

import typer

from soapstock.cli.frame.output import emit_record, say, say_cautions, say_notes, table
from soapstock.cli.frame.session import AsJson, check_range, desk
from soapstock.cli.recipe import Bars, Code, FatTotal, Have, Volume
from soapstock.units import mass_words, several

if TYPE_CHECKING:
    from soapstock.views.blends import Practice, Swapped


def _alkalis(naoh_g: Decimal, koh_g: Decimal) -> str:
    """The lye of a pot in words; what is none is left out."""
    both = ((naoh_g, "NaOH"), (koh_g, "KOH"))
    return " and ".join(f"{mass_words(mass)} {name}" for mass, name in both if mass)


def recipe_practice(
    ctx: typer.Context,
    code: Code,
    by: Annotated[
        str, typer.Option("--by", metavar="FAT=MASS", help="The fat the lye was scaled by.")
    ],
    poured: Annotated[
        list[str] | None,
        typer.Option("--poured", metavar="FAT=MASS", help="A fat poured by hand; repeat for each."),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """The other fats are poured by hand."""
    from soapstock.views.blends import practice

    with desk(ctx) as opened:
        record = practice(opened, code, by, poured or [])
    if as_json:
        emit_record(record)
        return
    say(f"{record.code} as scaled in practice")
    table(
        "",
        ["In the pot", "Mass"],
        [[row.ingredient, mass_words(row.mass_g)] for row in record.fats],
        right=["Mass"],
    )
    _print_lye(record)
    should = _alkalis(record.naoh_should_be_g, record.koh_should_be_g)
    say_notes([f"these fats ask {should}", *record.differences])
    say_cautions(record.cautions)


def _print_lye(record: Practice | Swapped) -> None:
    from soapstock.chemistry.lye import span_text

    lye = _alkalis(record.naoh_g, record.koh_g)
    span = span_text(record.superfat_percent)
    say(f"Lye {lye} in {mass_words(record.water_g)} water: superfat {span}")
    say(f"Verdict: {record.verdict.upper()}")
    say_notes(record.reasons)


def recipe_swap(
    ctx: typer.Context,
    code: Code,
    out: Annotated[str, typer.Option("--out", metavar="FAT", help="The fat that is missing.")],
    into: Annotated[str, typer.Option("--in", metavar="FAT", help="The fat to take instead.")],
    have: Have = None,
    fat: FatTotal = None,
    bars: Bars = None,
    volume: Volume = None,
    as_json: AsJson = False,
) -> None:
    from soapstock.recipes.target import make_target
    from soapstock.views.blends import swap

    target = make_target(have=have, fat=fat, bars=bars, volume=volume)
    with desk(ctx) as opened:
        record = swap(opened, code, target, out, into)
    if as_json:
        emit_record(record)
        return
    _print_swapped(record)


def _print_swapped(record: Swapped) -> None:
    say(f"{record.code}, its fats changed at equal lye demand")
    table(
        "",
        ["Fat", "Recipe", "Now"],
        [[row.name, mass_words(row.before_g), mass_words(row.after_g)] for row in record.changes],
        right=["Recipe", "Now"],
    )
    _print_lye(record)
    changed = record.acids_changed_percent
    told = "not known" if changed is None else f"{abs(changed):.1f} %"
    notes = [f"share of the fatty acids that is no longer the recipe's: {told}"]
    if record.order_before != record.order_after:
        notes.append(
            "the label's order of fats changes: "
            + ", ".join(record.order_after)
            + " (was "
            + ", ".join(record.order_before)
            + ")"
        )
    notes.append("a changed blend is another recipe: keep it as a new version before you pour it")
    say_notes(notes)
    say_cautions(record.cautions)


def recipe_composition(
    ctx: typer.Context,
    code: Code,
    have: Have = None,
    fat: FatTotal = None,
    bars: Bars = None,
    volume: Volume = None,
    lost: Annotated[
        float, typer.Option("--lost", metavar="PERCENT", help="Mass lost by drying since the pour.")
    ] = 0.0,
    as_json: AsJson = False,
) -> None:
    """It lists soaps, fat left over, glycerol and water."""
    from soapstock.recipes.target import make_target
    from soapstock.views.composition import composition_row

    target = make_target(have=have, fat=fat, bars=bars, volume=volume)
    with desk(ctx) as opened:
        record = composition_row(opened, code, target, lost)
    if as_json:
        emit_record(record)
        return
    say(f"{record.code} once saponified, {record.lost_percent:g} % lost by drying")
    table(
        "",
        ["Part", "Mass", "%"],
        [[row.part, mass_words(row.mass_g, 1), f"{row.percent:.1f}"] for row in record.parts],
        right=["Mass", "%"],
    )
    say_notes(
        [
            f"total fatty matter {record.total_fatty_matter_percent:.1f} %",
            f"free alkali {record.free_alkali_percent_naoh:.2f} % as NaOH, by the usual values",
            f"it can lose {record.most_loss_percent:.1f} % at most, all its water",
            *record.notes,
        ]
    )


def recipe_mould(
    ctx: typer.Context,
    code: Code,
    inside: Annotated[
        str, typer.Option("--inside", metavar="SIZES", help="Inside, as '30cm x 9cm x 6cm'.")
    ],
    count: Annotated[int, typer.Option("--count", help="How many moulds.")] = 1,
    as_json: AsJson = False,
) -> None:
    """Three sizes are a box, two are a cylinder."""
    from soapstock.views.blends import fill_moulds

    check_range("--count", count, 1, 10_000)
    with desk(ctx) as opened:
        record = fill_moulds(opened, code, inside, count)
    if as_json:
        emit_record(record)
        return
    volume = record.volume_ml
    say(f"{count} x {record.mould}: {volume:.0f} mL, {mass_words(record.batter_g, 0)} of batter")
    notes = []
    if record.bars is not None:
        notes.append(
            f"{several(record.bars, 'bar')} of {record.wet_bar_g:.0f} g wet, saw cuts apart"
        )
    notes.append(f"scale to it with: soapstock recipe scale {record.code} --volume {volume:.0f}ml")
    say_notes(notes)
