"""`take-in` and `old-notes`: a shop that was handed over, or a maker's notes from before."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from soapstock.cli.frame.output import caution_line, emit, say, say_notes, table
from soapstock.cli.frame.session import AsCsv, AsJson, Note, desk, shop_folder
from soapstock.units import mass_words, several

if TYPE_CHECKING:
    from soapstock.desk.desk import Desk
    from soapstock.exchange.notes import NotesMap
    from soapstock.views.old_notes import OldPage


MAPS = "notes"  # folder of the shop: what headings were taken for when notes were entered


def take_in(
    ctx: typer.Context,
    what: Annotated[
        Path, typer.Argument(metavar="FILE|DIR", help="Notes (CSV, XLSX, text); or a hand-over.")
    ],
    mapping: Annotated[
        Path | None, typer.Option("--map", metavar="FILE.toml", help="What the columns mean.")
    ] = None,
    keep_map: Annotated[
        Path | None,
        typer.Option("--keep-map", metavar="FILE.toml", help="Write what they were taken for."),
    ] = None,
    sheet: Annotated[str, typer.Option(help="Sheet of a workbook; else its first.")] = "",
    enter: Annotated[bool, typer.Option("--enter", help="Enter them, not only show them.")] = False,
    note: Note = "",
    as_json: AsJson = False,
    as_csv: AsCsv = False,
) -> None:
    """Notes are first shown: what was understood, guessed and is missing. They are history only.

    Nothing is poured, released or sold by them. A folder that was handed over makes a new shop in
    --shop DIR, and is proved equal.
    """
    from soapstock.upkeep.hand_over import is_handed_over, take_over

    if what.is_dir() and is_handed_over(what):
        into = shop_folder(ctx)
        done = take_over(what, into)
        say(
            f"Made a shop in {into} of {several(done.entries, 'entry')} "
            f"({several(done.rows, 'row')}); it is the ledger that was handed over, hash for hash."
        )
        return
    with desk(ctx) as opened:
        pages, used, kept = _read(opened, what, mapping, sheet)
        if not emit(pages, as_json=as_json, as_csv=as_csv):
            for page in pages:
                _print_page(page)
            _print_map(used)
            if mapping is None and kept.is_file():
                say(f"They are read by {kept}, as the last ones were.")
            say(caution_line())
        if keep_map is not None:
            _keep_map(used, keep_map)
        if enter:
            _enter(opened, what, pages, note)
            if used.columns and (mapping is not None or not kept.is_file()):
                kept.parent.mkdir(exist_ok=True)
                _keep_map(used, kept)
        elif not (as_json or as_csv):
            fresh = sum(not page.known for page in pages)
            say(f"{several(fresh, 'page')} to take in: --enter does it. Nothing was entered.")


def _read(
    opened: Desk, what: Path, mapping: Path | None, sheet: str
) -> tuple[list[OldPage], NotesMap, Path]:
    """The pages, what their headings were taken for, and where the shop keeps that."""
    from soapstock.exchange import notes
    from soapstock.exchange.text_file import read_text_file
    from soapstock.views.old_notes import offered_map, understand

    raw = notes.read_notes(what, sheet)
    heads = {head for page in raw for head, _ in page.cells if head}
    kept = notes.kept_mapping(opened.shop.folder / MAPS, heads)
    if mapping is None and kept.is_file():
        mapping = kept
    given = notes.NotesMap()
    if mapping is not None:
        given = notes.read_mapping(read_text_file(mapping, "a mapping"), str(mapping))
    with opened.reading() as (here, _):
        used = offered_map(here, raw, given)
        return understand(here, raw, used), used, kept


def _print_page(page: OldPage) -> None:
    day = page.poured_on.isoformat() if page.poured_on else "day unknown"
    bars = several(page.bars, "bar") if page.bars is not None else "bars unknown"
    known = " (taken in before)" if page.known else ""
    say(f"{page.where}: {day}  {page.variety or 'variety unknown'}  {bars}{known}")
    masses = [
        f"{m.ingredient} {mass_words(m.mass_g) if m.mass_g is not None else '?'}"
        for m in page.masses
    ]
    notes = [", ".join(masses)] if masses else []
    notes += [f"lye: {one}" for one in page.lye]
    notes += [f"guessed: {one}" for one in page.guessed]
    notes += [f"missing: {one}" for one in page.missing]
    notes += [f"ask: {page.question}"] if page.question else []
    say_notes(notes)


def _print_map(used: NotesMap) -> None:
    if used.columns:
        table(
            "Columns",
            ["Heading", "Taken for"],
            [[head, key or "a note"] for head, key in used.columns.items()],
            empty="none",
        )


def _keep_map(used: NotesMap, path: Path) -> None:
    from soapstock.exchange.notes import mapping_text, read_mapping
    from soapstock.exchange.text_file import read_text_file, write_text_file

    if path.is_file() and path.suffix == ".toml":  # only another mapping is ever replaced
        read_mapping(read_text_file(path, "a mapping"), str(path))
    write_text_file(path, mapping_text(used), ".toml")
    say(f"Wrote {path}; change it, and give it with --map.")


def _enter(opened: Desk, what: Path, pages: list[OldPage], note: str) -> None:
    from soapstock.enter.old_notes import take_pages

    done = take_pages(opened, what.name, pages, note=note)
    if done is None:
        say("Every page was taken in before; nothing was entered.")
        return
    say(f"{done.said} (entry {done.entry_id}; soapstock undo {done.entry_id} takes them out)")


def old_notes(ctx: typer.Context, as_json: AsJson = False, as_csv: AsCsv = False) -> None:
    """They are history: nothing was poured here, and nothing may be sold by them."""
    from soapstock.views.old_notes import old_pages

    with desk(ctx) as opened:
        rows = old_pages(opened)
    if emit(rows, as_json=as_json, as_csv=as_csv):
        return
    table(
        "Old notes",
        ["Entry", "Where", "Poured", "Variety", "Bars", "What stands there"],
        [
            [
                str(r.entry),
                f"{r.source} {r.where}",
                r.poured_on.isoformat() if r.poured_on else "?",
                r.variety or "?",
                "?" if r.bars is None else str(r.bars),
                r.said,
            ]
            for r in rows
        ],
        right=["Entry", "Bars"],
        whole=["Poured"],
        empty="none taken in",
    )
    if rows:
        say(caution_line())
