"""`check ...`: weights, words and labels against the law."""

from __future__ import annotations

import sys
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from soapstock.cli.frame.output import emit, emit_record, say, say_notes
from soapstock.cli.frame.session import AsCsv, AsJson, Lot, desk, session, shop_folder
from soapstock.errors import BadInput, ExitCode, NotFound
from soapstock.units import parse_length_mm, parse_mass_g

if TYPE_CHECKING:
    from soapstock.labelling.claims import ClaimHit

Market = Annotated[
    str | None,
    typer.Option("--market", help="Whose rules hold; else the shop's own market."),
]


def _market(ctx: typer.Context, market: str | None) -> str:
    """The market asked for, else the shop's."""
    if market is not None:
        return market
    from soapstock.shop import load_shop

    try:
        return load_shop(shop_folder(ctx)).market
    except NotFound:
        raise BadInput("no market is given and no shop is here", hint="add --market eu") from None


def _percent(text: str, what: str) -> Decimal:
    try:
        value = Decimal(text.strip().removesuffix("%").strip())
    except InvalidOperation:
        raise BadInput(f"{what} '{text}' is not a percentage", hint="write it like 3") from None
    if not value.is_finite() or not 0 <= value <= 20:
        raise BadInput(f"{what} {text} is not 0 to 20 %")
    return value


def check_net_weight(
    ctx: typer.Context,
    file: Annotated[Path, typer.Argument(metavar="FILE.csv", help="Weights; column net_g.")],
    declared: Annotated[str, typer.Option(metavar="MASS", help="Declared weight, as 113g.")],
    lot_size: Annotated[int, typer.Option(metavar="BARS", help="Bars in the whole lot.")],
    market: Market = None,
    method: Annotated[
        str | None,
        typer.Option(help="hb133 or reference; else the market's own."),
    ] = None,
    allowance: Annotated[
        str, typer.Option(metavar="PERCENT", help="Moisture allowance granted; soap has none.")
    ] = "0",
    step: Annotated[str | None, typer.Option(metavar="MASS", help="The scale's step.")] = None,
    out: Annotated[Path | None, typer.Option("--out", help="Write the record here too.")] = None,
    as_json: AsJson = False,
) -> None:
    """They are checked against the declared weight."""
    from soapstock.exchange.text_file import write_text_file
    from soapstock.papers.net_weight import record_text
    from soapstock.views.net_weight import check_net_weight

    made = check_net_weight(
        file,
        parse_mass_g(declared, "--declared"),
        lot_size,
        market=_market(ctx, market),
        on=session(ctx).today,
        method=method,
        allowance_percent=_percent(allowance, "--allowance"),
        step_g=parse_mass_g(step, "--step") if step else None,
    )
    text = record_text(made, by=session(ctx).by)
    if out is not None:
        write_text_file(out, text, ".txt", ".csv", ".md")
    if as_json:
        emit_record(made)
    else:
        sys.stdout.write(text)
    if not made.passes:
        raise typer.Exit(int(ExitCode.REFUSED))


def check_claims(
    ctx: typer.Context,
    file: Annotated[
        Path | None,
        typer.Argument(metavar="[FILE]", help="Text or a saved page; - reads typed words."),
    ] = None,
    text: Annotated[str | None, typer.Option("--text", help="The words themselves.")] = None,
    lot: Annotated[
        str | None, typer.Option("--lot", help="The lot spoken of; alone: its label.")
    ] = None,
    market: Market = None,
    language: Annotated[
        str | None, typer.Option(help="Of the words: en, fr, de, es or nl; else the market's all.")
    ] = None,
    as_json: AsJson = False,
    as_csv: AsCsv = False,
) -> None:
    """They may make it a cosmetic, too."""
    from soapstock.exchange.html_words import looks_like_html, page_words
    from soapstock.labelling.claims import verdict
    from soapstock.views import law

    if (file is not None and text is not None) or (file, text, lot) == (None, None, None):
        raise BadInput("nothing to check", hint="give a FILE or --text, or --lot, or both")
    place = _market(ctx, market)
    words = text if text is not None else _words_of(file) if file is not None else ""
    if looks_like_html(words):
        words = page_words(words)
    answers: tuple[str, ...] = ()
    if lot is None:
        hits = law.claims_in(words, place, language)
    else:
        with desk(ctx) as opened:
            words = words or law.label_words(opened, lot, place, language)
            hits = law.claims_in(words, place, language)
            answers = law.herd_of(opened, lot, hits)
    gravest = verdict(hits)
    if not emit(hits, as_json=as_json, as_csv=as_csv):
        _say_hits(hits, place, law.claim_lists_used(place, language))
        say_notes(answers)
    if gravest not in (None, "note"):
        raise typer.Exit(int(ExitCode.REFUSED))


def _words_of(file: Path) -> str:
    from soapstock.exchange.text_file import read_text_file, read_text_stream

    if str(file) == "-":
        return read_text_stream(sys.stdin, "text")
    return read_text_file(file, "text")


def _say_hits(hits: tuple[ClaimHit, ...], market: str, languages: tuple[str, ...]) -> None:
    if not hits:
        say(f"No word of our list is in it (market {market}).")
    for hit in hits:
        denied = " (denied, so it does not count; a reader may still wonder)" if hit.denied else ""
        say(f'line {hit.line}: "{hit.phrase}": {hit.says}{denied}')
        say_notes([hit.why, f"Plainer: {hit.plainer}", f"{hit.citation} [{hit.confidence}]"])
    say(
        f"The lists are ours (used: {', '.join(languages)});"
        " finding nothing does not prove a text lawful."
    )


def check_declared(
    ctx: typer.Context,
    lot: Lot,
    weight: Annotated[
        str | None, typer.Option("--declared", metavar="MASS", help="Else the recipe's.")
    ] = None,
    sure: Annotated[
        str, typer.Option(metavar="PERCENT", help="How sure the average is to keep it.")
    ] = "99.7",
    market: Market = None,
    as_json: AsJson = False,
) -> None:
    """It also finds the largest weight that could be declared."""
    from soapstock.views.law import check_declared

    with desk(ctx) as opened:
        found = check_declared(
            opened,
            lot,
            declared_g=parse_mass_g(weight, "--declared") if weight else None,
            market=market,
            chance=_sure(sure),
        )
    if as_json:
        emit_record(found)
        return
    say(f"{found.text}: checked at {found.checked_g} g")
    end = found.chance_at_best_before
    lines = [
        f"at pack (day {found.pack_day:.0f}) the average keeps it: "
        f"{100 * found.chance_at_pack:.0f} %"
    ]
    if end is not None:
        lines.append(f"up to best-before: {100 * end:.0f} %")
    asked = 100 * found.chance_asked
    lines.append(
        f"largest kept at pack with {asked:.3g} %: {_grams(found.largest_g_at_pack)}"
        + (f", as {found.largest_text}" if found.largest_text else "")
    )
    if end is not None:
        most = _grams(found.largest_g_to_best_before)
        lines.append(f"largest kept up to best-before with {asked:.3g} %: {most}")
    if found.tolerance_g is not None:
        lines.append(
            f"one bar may be short by {found.tolerance_g} g "
            f"({found.tolerance_rule}; {found.tolerance_because})"
        )
    say_notes([*lines, *found.notes])


def _sure(text: str) -> float:
    try:
        value = float(text.strip().removesuffix("%"))
    except ValueError:
        raise BadInput(f"--sure '{text}' is not a percentage", hint="write it like 95") from None
    if not 0.0 < value < 100.0:
        raise BadInput(f"--sure {text} is not between 0 and 100 %", hint="write it like 95")
    return value / 100.0


def _grams(value: Decimal | None) -> str:
    return "none" if value is None else f"{value} g"


def check_label(
    ctx: typer.Context,
    lot: Lot,
    panel: Annotated[
        str | None, typer.Option(metavar="WxH", help="Package's main side, as 90x60mm.")
    ] = None,
    market: Market = None,
    as_json: AsJson = False,
) -> None:
    """It also tells each statement's size and place."""
    from soapstock.views.law import explain_label

    with desk(ctx) as opened:
        found = explain_label(
            opened, lot, market=market, panel_cm2=_panel_cm2(panel) if panel else None
        )
    if as_json:
        emit_record(found)
        return
    for row in found.statements:
        need = "required" if row.required else "not required"
        say(f"{row.statement.replace('_', ' ')}: {row.text}")
        notes = [f"{need}; {row.rule} [{row.confidence}]"]
        if row.min_mm is None:
            notes.append("size: by the package's main side; give it as --panel 90x60mm")
        else:
            known = f"{row.size_rule} [{row.size_confidence}]"
            least = f"at least {row.min_mm} mm"
            why = "" if row.size_because == least else f": {row.size_because}"
            notes.append(f"{least} high{why}; {known}")
        if row.place:
            notes.append(row.place)
        say_notes(notes)


def _panel_cm2(text: str) -> float:
    """Square centimetres of a panel written as 90x60mm or 3.5inx2.25in."""
    from soapstock.labelling.type_size import rectangle_panel_cm2

    width, cross, height = text.lower().replace("×", "x").partition("x")
    unit = height.strip().lstrip("0123456789. ")
    if not cross or not unit:
        raise BadInput(f"--panel '{text}' is not understood", hint="write it like 90x60mm")
    if width.strip().replace(".", "", 1).isdigit():
        width = f"{width.strip()} {unit}"
    sides = [float(parse_length_mm(side, "--panel")) for side in (width, height)]
    if min(sides) <= 0.0:
        raise BadInput(f"--panel '{text}' has no area")
    return rectangle_panel_cm2(*sides)
