"""`label`, `label-run`, `card` and `labels ...`: what is printed for a batch, and counted."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from soapstock.cli.frame.mends import help_of
from soapstock.cli.frame.output import (
    emit,
    emit_record,
    say,
    say_notes,
    table,
    table_of,
    tell_entered,
)
from soapstock.cli.frame.session import AsCsv, AsJson, Lot, check_range, desk, offer_lots
from soapstock.errors import BadInput, RuleBroken
from soapstock.units import parse_mass_g, several

if TYPE_CHECKING:
    from soapstock.desk.desk import Desk
    from soapstock.render.label.items import SizeNote
    from soapstock.views.label import LabelText

Out = Annotated[Path | None, typer.Option("--out", metavar="FILE.pdf", help="Where to.")]
RunOffset = Annotated[
    str | None,
    typer.Option("--offset", metavar="MM,MM", help="Shift right, down; else the shop's own."),
]
SureOfClaims = Annotated[
    str,
    typer.Option(
        "--sure",
        metavar="REASON",
        help="Why words of a drug or pesticide are printed; kept with the count.",
    ),
]
Mood = Annotated[str | None, typer.Option(help="quiet, tinted or ringed; else the shop's own.")]
CountRun = Annotated[bool, typer.Option("--count", help="Count them as printed: see labels check.")]


def label(
    ctx: typer.Context,
    lot: Lot,
    out: Annotated[Path | None, typer.Option("--out", metavar="FILE.pdf", help="Where to.")] = None,
    face: Annotated[str | None, typer.Option(help="Label face, such as band or panel.")] = None,
    sheet: Annotated[str | None, typer.Option(help="Label sheet, named by its geometry.")] = None,
    mood: Mood = None,
    price: Annotated[
        str, typer.Option(metavar="TEXT", help="As a shelf card is to say it, such as $6.")
    ] = "",
    preview: Annotated[
        bool, typer.Option("--preview", help="One label as a PNG at true size, with rulers.")
    ] = False,
    copies: Annotated[int | None, typer.Option(help="How many; one a bar unless given.")] = None,
    start_at: Annotated[int, typer.Option(help="First free label of a part-used sheet.")] = 1,
    offset: RunOffset = None,
    count: CountRun = False,
    sure: SureOfClaims = "",
    market: Annotated[str | None, typer.Option(help="Whose rules hold; else the shop's.")] = None,
    names: Annotated[str | None, typer.Option(help="poured or finished convention.")] = None,
    style: Annotated[str | None, typer.Option(help="Ingredient names: eu, us or plain.")] = None,
    declared: Annotated[
        str | None, typer.Option(metavar="MASS", help="As declared for it; another is refused.")
    ] = None,
    language: Annotated[str, typer.Option(help="Of the words: en, fr, de, es or nl.")] = "en",
    scent: Annotated[
        str | None, typer.Option(help="Essential oils named, or grouped as one word.")
    ] = None,
    opened_months: Annotated[
        int | None, typer.Option(help="Months of use after opening, where no date is due.")
    ] = None,
    explain: Annotated[
        bool, typer.Option("--explain", help="Say which rule each statement and size has; no PDF.")
    ] = False,
    text: Annotated[bool, typer.Option("--text", help="Print the wording only, no PDF.")] = False,
    as_json: AsJson = False,
) -> None:
    """They give identity, weight, ingredients, maker, lot and dates."""
    from soapstock.enter.stock import count_printed
    from soapstock.papers import cards, designs, labels, proofs
    from soapstock.views import label as label_views

    check_range("--copies", copies, 1, 100_000)
    check_range("--start-at", start_at, 1, 1000)
    check_range("--opened-months", opened_months, 1, 120)
    with desk(ctx) as opened:
        made = label_views.label_text(
            opened,
            lot,
            market=market,
            names=names,
            style=style,
            declared_g=parse_mass_g(declared, "--declared") if declared else None,
            language=language,
            scent=scent,
            opened_months=opened_months,
            price=price,
        )
        if (count or sure) and (as_json or explain or text or preview):
            raise BadInput(
                f"{'--count' if count else '--sure'} has nothing to count",
                hint="leave out --json, --text, --explain, --preview",
            )
        if as_json:
            emit_record(label_views.label_row(made))
            return
        if explain or text:
            if explain:
                print_rules(made)
                _print_sizes(opened, made, face, sheet)
            else:
                for statement in made.wording.statements:
                    say(statement.text)
            say_notes([*made.notes, *made.wording.cautions])
            return
        code, day = made.item.facts.lot_code, opened.today
        if preview:
            picture = out or cards.default_name("label", code, day, "png")
            layout = proofs.write_preview(opened, made, picture, face=face, sheet=sheet, mood=mood)
            say(f"Preview written to {picture}; at 100 % the rulers are in mm.")
            say_notes(dict.fromkeys([*made.notes, *layout.warnings]))
            return
        path = out or cards.default_name("labels", code, day)
        result = labels.print_labels(
            opened,
            made,
            path,
            face=face,
            sheet=sheet,
            mood=mood,
            copies=copies,
            start_at=start_at,
            offset_mm=designs.parse_offset(offset) if offset else None,
            count=partial(count_printed, opened) if count or sure else None,
            sure=sure,
        )
    printed = f"{several(result.labels, 'label')} on {several(result.pages, 'page')}"
    say(f"{printed} written to {result.path}")
    say_notes(dict.fromkeys([*made.notes, *result.warnings, *made.wording.cautions]))


def print_rules(made: LabelText) -> None:
    """Print each statement with the rule it comes from."""
    table(
        f"Label of {made.item.recipe.name} for market {made.market}",
        ["Statement", "Text", "Rule"],
        [[s.kind.replace("_", " "), s.text, s.rule] for s in made.wording.statements],
        whole=["Statement"],
    )


def _print_sizes(opened: Desk, made: LabelText, face: str | None, sheet: str | None) -> None:
    """Print the type sizes on the face asked for with their rules, and how its code came out."""
    from soapstock.papers import designs, proofs

    chosen, on = designs.designs_for(opened, face, sheet)
    say(f"On face {chosen.name}, sheet {on.name}:")
    try:
        layout = proofs.layout_of(opened, made, chosen, on)
    except RuleBroken as err:
        say(f"It cannot be printed so: {err.message}. {help_of(err)}")
        return
    say_sizes(layout.sizes, layout.codes())
    say_notes(layout.warnings)


def card(
    ctx: typer.Context,
    lots: Annotated[
        list[str], typer.Argument(metavar="LOT...", help="Lot codes.", autocompletion=offer_lots)
    ],
    out: Annotated[Path | None, typer.Option("--out", metavar="FILE.pdf", help="Where to.")] = None,
) -> None:
    from soapstock.desk.finding import read_lot
    from soapstock.papers import cards

    with desk(ctx) as shop, shop.reading() as (opened, _):
        first = read_lot(opened, lots[0], kind="batch")
        path = out or cards.default_name("card", first, opened.today)
        number = cards.print_cards(opened, lots, path)
    say(f"{several(number, 'rack card')} written to {path}")


def label_run(
    ctx: typer.Context,
    lots: Annotated[
        Path, typer.Argument(metavar="LIST.csv", help="Columns lot,copies; no copies: one a bar.")
    ],
    out: Out = None,
    face: Annotated[str | None, typer.Option(help="Label face; see: design faces.")] = None,
    sheet: Annotated[str | None, typer.Option(help="Label sheet; see: design sheets.")] = None,
    start_at: Annotated[int, typer.Option(help="First free label of a part-used sheet.")] = 1,
    offset: RunOffset = None,
    panel_cm2: Annotated[
        float | None,
        typer.Option("--panel-cm2", min=1.0, help="Area of the package's front, for type sizes."),
    ] = None,
    count: CountRun = False,
    sure: SureOfClaims = "",
    explain: Annotated[
        bool, typer.Option("--explain", help="Say which rule bounds each type size.")
    ] = False,
) -> None:
    from soapstock.enter.stock import count_printed
    from soapstock.papers import designs, labels

    with desk(ctx) as opened:
        wanted = labels.read_list(lots)
        chosen, on = designs.designs_for(opened, face, sheet)
        path = out or Path(f"labels-{opened.today.isoformat()}.pdf")
        result = labels.print_run(
            opened,
            wanted,
            path,
            face=chosen,
            sheet=on,
            where=str(lots),
            start_at=start_at,
            offset_mm=designs.parse_offset(offset) if offset else None,
            panel_cm2=panel_cm2,
            count=partial(count_printed, opened) if count or sure else None,
            sure=sure,
        )
    printed = f"{several(result.labels, 'label')} on {several(result.pages, 'page')}"
    say(f"{printed} of {on.name} written to {result.path}")
    if explain:
        say_sizes(result.sizes, result.codes)
    say_notes(result.warnings)


def say_sizes(sizes: Sequence[SizeNote], codes: Sequence[str]) -> None:
    """Print the type size of each statement with the rule that bounds it, and the codes."""
    rows = [
        [
            note.kind.replace("_", " "),
            f"{note.letter_mm:.2f}",
            f"{note.least_mm:.2f}",
            f"{note.rule} ({note.confidence})",
        ]
        for note in sizes
    ]
    table(
        "", ["Statement", "mm", "Least", "Rule"], rows, right=["mm", "Least"], whole=["Statement"]
    )
    for line in codes:
        say(line)


def labels_count(
    ctx: typer.Context,
    lot: Lot,
    printed: Annotated[int, typer.Option(help="Labels printed.")] = 0,
    spoiled: Annotated[int, typer.Option(help="Labels spoiled and thrown away.")] = 0,
    used: Annotated[int, typer.Option(help="Labels stuck on bars.")] = 0,
) -> None:
    from soapstock.enter import stock as enter_stock

    with desk(ctx) as opened:
        done = enter_stock.count_labels(opened, lot, printed=printed, spoiled=spoiled, used=used)
    tell_entered(done)


def labels_check(ctx: typer.Context, as_json: AsJson = False, as_csv: AsCsv = False) -> None:
    """It says what does not add up."""
    from soapstock.views import stock as stock_views

    with desk(ctx) as opened:
        rows = stock_views.reconcile(opened)
    if not emit(rows, as_json=as_json, as_csv=as_csv):
        keys = ["lot", "printed", "spoiled", "used", "left", "bars_made", "shipped", "finding"]
        table_of("Labels", rows, keys, right=keys[1:7], empty="none counted yet")
