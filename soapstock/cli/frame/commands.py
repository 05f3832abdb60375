"""Every command by name: the file it stands in and the line that `soapstock --help` gives it.

A command's file is imported only when the command runs: reading the signatures of all of them costs
more than typer itself. So the names and lines stand here a second time, in the order of the list;
tests/cli/frame/test_commands.py holds them to what the files register.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cache
from importlib import import_module
from typing import Any

import typer
from typer.core import TyperCommand, TyperGroup

# name: (file, or files where several add to one group; first sentence of its help)
COMMANDS = {
    "start": ("start", "Make a new shop: a folder with shop.toml and an empty ledger."),
    "receive": ("receive", "Receive an ingredient lot, bought or rendered on the farm."),
    "render": (
        "receive",
        "Render raw fat: its lots go into the kettle, a lot of rendered fat comes out.",
    ),
    "pour": ("pour", "Record a pour from the masses as weighed."),
    "unmould": ("batch", "Take a batch out of its mould: bars, rejects, and their mass."),
    "weigh": ("batch", "Weigh a counted set of bars."),
    "test": ("batch", "Record a free-alkali test."),
    "release": ("batch", "Release a batch for sale, when all its other gates are open."),
    "hold": ("batch", "Put a batch on hold: nothing of it may ship."),
    "reject": ("batch", "Reject a batch for good."),
    "move": (
        "move",
        "Move bars to another place; returned ones need a note that says why they may go back.",
    ),
    "ship": ("move", "Ship released bars to a customer."),
    "retain": ("move", "Keep bars back as retained samples."),
    "waste": ("move", "Take bars, or a mass of an ingredient lot, out as waste."),
    "count": ("move", "Record a count; a difference to the book is posted openly."),
    "undo": ("entries", "Undo an entry by writing the entry that reverses it."),
    "entries": ("entries", "List the ledger's entries, the newest last."),
    "stock": ("stock", "Show what lies where."),
    "lots": ("stock", "List ingredient lots, first expired first."),
    "curing": (
        "curing",
        "List batches still curing: the day, weight, expected end, ready-by, and what is missing.",
    ),
    "ready": ("curing", "List bars ready to ship: now, and by a day; earliest best-before first."),
    "scan": ("scan", "Tell the history of a lot."),
    "label": (
        "labels",
        "Print the labels of a batch: identity, weight, ingredients, maker, lot, dates.",
    ),
    "card": ("labels", "Print the rack cards of batches."),
    "label-run": ("labels", "Print labels of several lots, mixed on the same sheets."),
    "rules": ("rules", "List the label rules of a market, with their source and how we know each."),
    "demo": (
        "demo",
        "Build an invented shop, show its curing and ready lists, scan a lot, and print PDFs.",
    ),
    "audit": (
        "upkeep",
        "Check the whole ledger: file, balance, hash chain, stock, order of facts.",
    ),
    "backup": ("upkeep", "Back the ledger up while it is in use, and read the backup back."),
    "restore": (
        "upkeep",
        "Put a backup in place of the shop's ledger; today's ledger is backed up first.",
    ),
    "move-to": ("upkeep", "Copy the ledger to another database and prove the copy equal."),
    "migrate": ("upkeep", "Bring an older ledger to this program's schema, after a backup."),
    "lye": (
        "lye",
        "Show a lye solution before it is mixed: strength, volume, peak, boiling, crystals.",
    ),
    "cure": (
        "cure",
        "Tell how a batch dries: its curve, when it is ready, what to weigh and declare.",
    ),
    "rack": (
        "cure",
        "Print the rack report: all curing batches on one page, each with its small chart.",
    ),
    "calendar": (
        "cure",
        "Write what is to be done (unmould, turn, weigh, test, ready) for your calendar.",
    ),
    "room": (
        "cure",
        "Take in a room logger's CSV, or tell what warmth and damp are seen to do here.",
    ),
    "promise": (
        "order",
        "Bars that may still be promised, by recipe and day, without breaking an older promise.",
    ),
    "take-back": (
        "order",
        "Take bars back from a customer; they are held apart until you decide.",
    ),
    "follow": (
        "follow",
        "Follow a lot both ways: to suppliers and animals, and to bars, orders and customers.",
    ),
    "recall": (
        "recall",
        "What a recall of a lot would reach: lots, bars by place, customers, share accounted for.",
    ),
    "record": (
        "record",
        "Print a batch's record as PDF, from ledger facts only; gaps are shown as gaps.",
    ),
    "level": ("stock", "Set how little of an ingredient or recipe calls for more."),
    "warnings": (
        "stock",
        "List what has expired or soon will, runs low, is short for orders, and full places.",
    ),
    "samples": ("stock", "List retained samples, and batches that shipped without any."),
    "cost": (
        "cost",
        "Tell what a batch cost, from the lots it used, and what a good bar of it cost.",
    ),
    "recipe": ("recipe blend", "Recipes: add, list, scale."),
    "design": ("design", "Label faces and sheets: list them, calibrate a printer, look at proofs."),
    "check": ("check", "Check weights, words and labels against the law we know."),
    "fat": ("fat", "Fats: what is known."),
    "order": ("order", "Orders: take in, reserve, pack, ship."),
    "place": ("stock", "Places where stock can be."),
    "labels": ("labels", "Labels counted against bars."),
}


@cache
def registered(files: str) -> dict[str, Any]:
    """The commands and groups that files of `cli` register, by name."""
    app = typer.Typer(rich_markup_mode=None)
    for file in files.split():
        import_module(f"soapstock.cli.{file}").register(app)
    return dict(typer.main.get_group(app).commands)


class LazyCommands(Mapping[str, Any]):
    """All commands by name; each is made when it is asked for."""

    def __getitem__(self, name: str) -> Any:
        files, _ = COMMANDS[name]
        return registered(files)[name]

    def __iter__(self) -> Iterator[str]:
        return iter(COMMANDS)

    def __len__(self) -> int:
        return len(COMMANDS)


class LazyGroup(TyperGroup):
    """The group of all commands; listing them makes none."""

    def __init__(self, **attrs: Any) -> None:
        super().__init__(**attrs)
        self.commands = LazyCommands()  # type: ignore[assignment]  # it is never added to

    def list_commands(self, ctx: Any) -> list[str]:
        """Names in the order of the list."""
        return list(COMMANDS)

    def format_commands(self, ctx: Any, formatter: Any) -> None:
        """Write the list of commands for people, each line cut as typer cuts it."""
        limit = formatter.width - 6 - max(map(len, COMMANDS))
        rows = [
            (name, TyperCommand(name, help=line).get_short_help_str(limit))
            for name, (_, line) in COMMANDS.items()
        ]
        with formatter.section("Commands"):
            formatter.write_dl(rows)
