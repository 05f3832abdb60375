"""`audit`, `backup`, `restore`, `move-to`, `hand-over`, `migrate`: keeping the ledger."""

from __future__ import annotations

import sys
from datetime import UTC, datetime
from pathlib import Path
from typing import Annotated

import typer

from soapstock.cli.frame.output import NAMES_CUSTOMERS, cells, emit, say, table
from soapstock.cli.frame.session import AsCsv, AsJson, check_range, desk, shop_folder
from soapstock.errors import ExitCode
from soapstock.units import several


def audit(
    ctx: typer.Context,
    expect: Annotated[
        str, typer.Option("--expect", metavar="NO:HASH", help="What an earlier audit printed.")
    ] = "",
    as_json: AsJson = False,
    as_csv: AsCsv = False,
) -> None:
    """Exit 4 if not."""
    from soapstock.upkeep import ledger

    with desk(ctx) as opened:
        found = ledger.audit(opened, expect)
    rows = [
        {"where": p.where, "severity": p.severity, "rule": p.rule, "message": p.message}
        for p in found.problems
    ]
    if not emit(rows, as_json=as_json, as_csv=as_csv):
        if rows:
            names = ["where", "severity", "rule", "message"]
            table(
                "Findings",
                [n.capitalize() for n in names],
                [cells(r, names) for r in rows],
                whole=["Where"],
            )
        else:
            say(f"{several(found.entries, 'entry')}, no findings.")
        if found.head_hash and not rows:
            say(f"Note this on paper: {found.entries}:{found.head_hash[:16]}")
            say("audit --expect with it proves later that nothing before it was changed.")
    if rows:
        raise typer.Exit(int(ExitCode.REFUSED))


def backup(
    ctx: typer.Context,
    folder: Annotated[
        Path | None, typer.Option("--to", metavar="DIR", help="Folder; else backups in the shop.")
    ] = None,
    keep: Annotated[
        int | None, typer.Option("--keep", metavar="N", help="Keep only the N newest there.")
    ] = None,
    listing: Annotated[bool, typer.Option("--list", help="List the backups instead.")] = False,
) -> None:
    from soapstock.upkeep import ledger

    if listing:
        where = folder or shop_folder(ctx) / ledger.BACKUPS
        for path in ledger.backups(where):
            typer.echo(path)  # never wrapped, so that a script can take it
        return
    check_range("--keep", keep, 1, 100_000)
    with desk(ctx) as opened:
        done = ledger.backup(opened, folder, keep)
    say(f"Backed up {several(done.entries, 'entry')} and read them back: {done.path}")
    say(NAMES_CUSTOMERS)
    for path in done.removed:
        say(f"Removed the older {path.name}.")


def restore(
    ctx: typer.Context,
    path: Annotated[Path, typer.Argument(metavar="FILE", help="The backup file.")],
    force: Annotated[
        bool, typer.Option("--force", help="Even over a ledger with newer entries.")
    ] = False,
) -> None:
    """Today's ledger is backed up first."""
    from soapstock.upkeep import ledger

    done = ledger.restore(shop_folder(ctx), path, now=datetime.now(UTC), force=force)
    say(f"Restored from {done.path.name}: {done.holds}.")
    if done.before is not None:
        say(f"The ledger as it was is kept: {done.before}")


def move_to(
    ctx: typer.Context,
    url: Annotated[str, typer.Argument(metavar="URL", help="Holds no ledger yet; - asks for it.")],
) -> None:
    """The old one stays, says where it went and takes no entries.

    Asked for, the URL and its password stand in no list of processes.
    """
    from soapstock.upkeep import ledger

    if url == "-":
        asked = sys.stdin.isatty()
        url = typer.prompt("Database URL", hide_input=True) if asked else sys.stdin.readline(4000)
        url = url.strip()

    with desk(ctx) as opened:
        done = ledger.move_to(opened, url)
    say(
        f"Copied {several(done.entries, 'entry')} ({several(done.rows, 'row')}); "
        "both ledgers are equal. The old one is closed."
    )
    if done.problems:
        say(f"Both have {several(done.problems, 'finding')}: see soapstock audit.")
    line = ledger.setting_for(url)
    say("To use the copy, write in shop.toml" + (", with your password:" if "***" in line else ":"))
    typer.echo(f"  {line}")


def hand_over(
    ctx: typer.Context,
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="A new folder.")],
) -> None:
    """Tables as CSV, recipes and settings; take-in makes the same shop of them again."""
    from soapstock.upkeep.hand_over import hand_over as write_out

    with desk(ctx) as opened:
        done = write_out(opened, folder)
    say(
        f"Wrote {several(done.entries, 'entry')} ({several(done.rows, 'row')}) and "
        f"{several(done.recipes, 'recipe text')} to {folder}"
    )
    say(NAMES_CUSTOMERS)


def migrate(ctx: typer.Context) -> None:
    """It is backed up first."""
    from soapstock.upkeep import ledger

    done = ledger.migrate(shop_folder(ctx), now=datetime.now(UTC))
    if done.backup is None:
        say(f"The ledger has schema {done.after} already.")
    else:
        say(f"Brought from schema {done.before} to {done.after}; before that: {done.backup}")
