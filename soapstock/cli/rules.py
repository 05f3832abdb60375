"""`rules`: the law of labels as we know it."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING, Annotated

import typer

from soapstock.cli.frame.output import cells, emit, say, say_notes, table
from soapstock.cli.frame.session import AsCsv, AsJson, day_or_none, session
from soapstock.errors import BadInput

if TYPE_CHECKING:
    from soapstock.views.law import MarketRow, RuleRow

LISTS = {
    "sizes": ("Least type heights", ["what", "goes_by", "up_to", "min_mm", "confidence"]),
    "allergens": ("Allergens above 0.01 % of the bar", ["number", "name", "cas", "confidence"]),
    "colours": ("Colours that may be used", ["name", "listed", "confidence"]),
}
KNOWN_BY = (
    "In brackets, how we know it: [read] in the law or an official text, [read-2] at second hand,"
    " [derived] worked out from what was read, [interpretation] our reading of it, [from memory]"
    " not looked up, [our own] no law."
)
CELLS = {
    "goes_by": "goes by",
    "up_to": "up to",
    "min_mm": "least mm",
    "net_weight": "net weight",
    "mail_order_notice": "mail-order notice",
    "e_mark": "e-mark",
    "other": "other required words",
    "area_sq_in": "main side, sq in",
    "area_cm2": "main side, cm2",
    "surface_sq_in": "all sides, sq in",
    "nominal_g": "declared g",
    "none": "-",
}


def rules(
    ctx: typer.Context,
    market: Annotated[
        str | None,
        typer.Argument(metavar="[MARKET]", help="Whose rules; without it, the markets are listed."),
    ] = None,
    on: Annotated[str | None, typer.Option("--on", metavar="DATE", help="Rules on a day.")] = None,
    sizes: Annotated[bool, typer.Option("--sizes", help="List type heights instead.")] = False,
    allergens: Annotated[
        bool, typer.Option("--allergens", help="List the allergens to be named instead.")
    ] = False,
    colours: Annotated[
        bool, typer.Option("--colours", help="List the colours that may be used instead.")
    ] = False,
    as_json: AsJson = False,
    as_csv: AsCsv = False,
) -> None:
    """It also says how we know each rule."""
    from soapstock.labelling.symbols import symbols_for
    from soapstock.views import law

    day = day_or_none(on) or session(ctx).today
    asked = {"sizes": sizes, "allergens": allergens, "colours": colours}
    chosen = [name for name, wanted in asked.items() if wanted]
    if len(chosen) > 1:
        raise BadInput("two lists at once", hint=f"give one of {', '.join(LISTS)}")
    if market is None:
        _say_markets(law.market_rows(), as_json=as_json, as_csv=as_csv)
        return
    title, columns = LISTS[chosen[0]] if chosen else ("Rules", [])
    rows = law.LISTS[chosen[0] if chosen else "rules"](market, day)
    if emit(rows, as_json=as_json, as_csv=as_csv):
        return
    head = f"{title}, market {market}, on {day.isoformat()}"
    if columns:
        table(
            head,
            [_cell(key) for key in columns],
            [[_cell(text) for text in cells(row, columns)] for row in rows],
            empty="no list of that kind is known",
        )
        say_notes(dict.fromkeys(row.citation for row in rows))
        if sizes:
            place = law.placement_text(market, day)
            say_notes([f"net weight: {place}"] if place else [])
            for sign in symbols_for(market, day):
                least = f", at least {sign.min_mm} mm" if sign.min_mm else ""
                known = f"{sign.citation} [{sign.confidence}]"
                say_notes([f"sign {sign.key}{least}: {sign.meaning}; {known}"])
    else:
        _say_rules(head, law.rule_rows(market, day))
    say(f"\n{KNOWN_BY}")
    say("\nRules differ by place and change; the maker answers for the label.")


def _say_markets(rows: list[MarketRow], *, as_json: bool, as_csv: bool) -> None:
    if not emit(rows, as_json=as_json, as_csv=as_csv):
        shown = [[row.market, row.title, str(row.from_)] for row in rows]
        table("Markets", ["market", "where", "rules known from"], shown)


def _cell(text: str) -> str:
    """A heading or a cell of a type-height list in plain words."""
    return CELLS.get(text, text)


def _say_rules(head: str, rows: list[RuleRow]) -> None:
    say(head)
    for row in rows:
        asks = ", required on the label" if row.required else ""
        say(f"\n{row.rule.replace('_', ' ')}{asks}")
        for text in (row.text, f"{row.citation} [{row.confidence}]"):
            say(
                textwrap.fill(
                    text, 76, initial_indent="  ", subsequent_indent="  ", break_on_hyphens=False
                )
            )
