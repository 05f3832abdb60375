"""Every command by name: its file, the first sentence of its help, and where `--help` lists it.

Each sentence stands here and nowhere else; a command's docstring holds what its help says beyond
it. The function of `recipe add` is `recipe_add` in its file. A file is imported only when one of
its commands runs: reading the signatures of all of them costs more than typer itself.
"""

from __future__ import annotations

import inspect
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from importlib import import_module
from itertools import chain
from typing import Any

import typer
from typer.core import TyperCommand, TyperGroup

# a command's name: its file in `cli`, and the first sentence of its help
COMMANDS: Mapping[str, tuple[str, str]] = {
    "start": ("start", "Make a new shop: a folder with shop.toml and an empty ledger."),
    "demo": ("demo", "Build an invented shop, show its lists, and print its PDFs."),
    "fat list": ("fat", "List the fats with their saponification values."),
    "fat show": ("fat", "Show the figures of a fat, each with its source."),
    "materials": ("materials", "List ingredients that are known by name."),
    "place add": ("stock", "Add a place; with a capacity it takes no more bars than that."),
    "place list": ("stock", "List places with the bars there and the room left."),
    "level": ("stock", "Set how little of an ingredient or recipe calls for more."),
    "design faces": ("design", "List label faces: size, what stands on them, their sheets."),
    "design sheets": ("design", "List label sheets and rolls: label size, number, paper."),
    "design calibrate": ("design", "Print a page that shows how far off a sheet you print."),
    "design proofs": ("design", "Write pictures and texts of a lot's label, on every face."),
    "recipe add": ("recipe", "Add a recipe file, or its next version, and judge its lye."),
    "recipe list": ("recipe", "List the recipes."),
    "recipe show": ("recipe", "Print a recipe as it is kept."),
    "recipe retire": ("recipe", "Retire a recipe: it is neither poured nor planned any more."),
    "recipe scale": ("recipe", "Scale a recipe to what is at hand, and judge its lye."),
    "recipe practice": ("blend", "Show what it gives to scale the lye by one fat alone."),
    "recipe swap": ("blend", "Swap one fat for another so that the lye stays the same."),
    "recipe composition": ("blend", "Show what a recipe's bar is made of, fresh or dried."),
    "recipe mould": ("blend", "Say how much batter fills a mould and how many bars come."),
    "recipe fill": ("fill", "Say how much to fill into each cup, or what to declare."),
    "recipe pot": ("pot", "Say when its fats set, and how soon it traces."),
    "opening": ("opening", "Enter bars that were there before the ledger began."),
    "receive": ("receive", "Receive an ingredient lot, or a whole delivery."),
    "render": ("receive", "Render raw fat in the kettle into a lot of rendered fat."),
    "lots": ("stock", "List ingredient lots, first expired first."),
    "lye": ("lye", "Show a lye solution before it is mixed: strength, peak, volume."),
    "pour": ("pour", "Record a pour from the masses as weighed."),
    "unmould": ("batch", "Take a batch out of its mould: bars, rejects, and their mass."),
    "page": ("page", "Serve the shop's page to paired phones."),
    "phone pair": ("page", "Make a code that pairs one phone for a named person."),
    "phone reader": ("page", "Make a token that reads stock, lots and today as data."),
    "phone list": ("page", "List the paired phones."),
    "phone dismiss": ("page", "Dismiss a phone: it sees nothing any more."),
    "today": ("today", "Say what is to be done today, in the order of need."),
    "curing": ("curing", "List batches still curing, and what each still needs."),
    "cure": ("cure", "Tell how a batch dries and when it is ready."),
    "weigh": ("batch", "Weigh counted bars of a batch, or go round with the scale."),
    "test": ("batch", "Record a free-alkali test."),
    "photo": ("batch", "Keep a photo of a batch, small and without its place."),
    "rack": ("cure", "Print all curing batches on one page, each with its chart."),
    "card": ("labels", "Print the rack cards of batches."),
    "calendar": ("cure", "Write what is to be done, and when, for your calendar."),
    "ready": ("curing", "List bars ready to ship, earliest best-before first."),
    "check net-weight": ("check", "Check the weights of a sample of bars."),
    "check claims": ("check", "Find words that make soap a drug, or that need proof."),
    "check declared": ("check", "Check a lot's declared weight against its drying."),
    "check label": ("check", "Explain a lot's label: the rule of each statement."),
    "rules": ("rules", "List the label rules of a market, with their sources."),
    "declare": ("batch", "Declare another net weight for the bars of a batch."),
    "release": ("batch", "Release a batch for sale, when all its other gates are open."),
    "hold": ("batch", "Put a batch or ingredient lot on hold: none of it is taken."),
    "reject": ("batch", "Reject a batch for good."),
    "label": ("labels", "Print the labels of a batch."),
    "label-run": ("labels", "Print labels of several lots, mixed on the same sheets."),
    "labels count": ("labels", "Count labels of a lot: printed, spoiled, used."),
    "labels check": ("labels", "Set labels against bars, lot by lot."),
    "order add": ("order", "Take an order by hand."),
    "order import": ("order", "Take orders in from a CSV, all of it or nothing."),
    "order list": ("order", "List open orders, the one wanted soonest first."),
    "order reserve": ("order", "Keep bars for orders, first expired first."),
    "order free": ("order", "Give free the bars kept for an order."),
    "order pack": ("order", "Print one pick list of orders, and their packing slips."),
    "order ship": ("order", "Ship orders; short only when you say so."),
    "order unship": ("order", "Undo an order's shipping, all lots of it as one."),
    "order cancel": ("order", "Cancel an order and free what was kept for it."),
    "promise": ("order", "List bars that may still be promised, by recipe and day."),
    "want add": ("want", "Put someone on the waiting list, or take them off."),
    "want list": ("want", "List who waits, and whose bars are there now."),
    "want order": ("want", "Make orders of the waiting list, in one go."),
    "plan": ("plan", "Plan what to pour, and when, for a day to come."),
    "ship": ("move", "Ship released bars to a customer."),
    "sell": ("sell", "Sell bars at a market, and total the day's box."),
    "market": ("sell", "Take bars to a market, sell several kinds, bring the rest back."),
    "take-back": ("order", "Take bars back from a customer."),
    "give": ("move", "Give bars away, or use them yourself."),
    "retain": ("move", "Keep bars back as retained samples."),
    "cost": ("cost", "Tell what a lot cost, and what a good bar of it cost."),
    "spend": ("cost", "Record work, or money spent, on a lot or on the shop."),
    "price set": ("price", "Say what a bar sells for, by recipe and kind of buyer."),
    "price list": ("price", "List what bars sell for."),
    "price sheet": ("price", "Print the prices for a kind of buyer."),
    "charge": ("price", "Say what bars were sold for that left before."),
    "worth": ("worth", "Tell what bars earn, by variety, batch or buyer."),
    "season": ("season", "Show a span of days: made, sold, cost, earned, left."),
    "journal": ("journal", "Write the accountant's journal, each line balanced."),
    "invoice give": ("invoice", "Give an invoice or receipt, with the next number."),
    "invoice credit": ("invoice", "Take an invoice back by a credit note."),
    "invoice print": ("invoice", "Print an invoice, receipt or credit note again."),
    "invoice list": ("invoice", "List invoices and credit notes."),
    "publish": ("publish", "Write public pages of the lots, which their codes open."),
    "scan": ("scan", "Tell the history of a lot."),
    "stock": ("stock", "Show what lies where."),
    "move": ("move", "Move bars to another place."),
    "count": ("move", "Record a count; a difference to the book is posted openly."),
    "waste": ("move", "Take bars, or a mass of an ingredient lot, out as waste."),
    "samples": ("stock", "List retained samples, and batches that shipped without any."),
    "undo": ("entries", "Undo an entry by writing the entry that reverses it."),
    "entries": ("entries", "List the ledger's entries, the newest last."),
    "follow": ("follow", "Follow a lot both ways, to its sources and its customers."),
    "recall": ("recall", "Tell what a recall of a lot would reach."),
    "record": ("record", "Print a batch's record as PDF, from ledger facts alone."),
    "audit": ("upkeep", "Check the whole ledger: file, balance, chain, stock, order."),
    "backup": ("upkeep", "Back the ledger up while it is in use, and read it back."),
    "restore": ("upkeep", "Put a backup in place of the shop's ledger."),
    "move-to": ("upkeep", "Copy the ledger to another database and prove it equal."),
    "hand-over": ("upkeep", "Write the whole shop as files any program reads."),
    "take-in": ("take_in", "Take in what was handed over, or a maker's notes."),
    "old-notes": ("take_in", "List the pages of old notes that were taken in."),
    "migrate": ("upkeep", "Bring an older ledger to this program's schema."),
}
# a group's name: the sentence of its help
GROUPS: Mapping[str, str] = {
    "fat": "Fats: what is known.",
    "place": "Places where stock can be.",
    "design": "Label faces and sheets: lists, calibration, proofs.",
    "recipe": "Recipes: add, list, scale, change.",
    "check": "Check weights, words and labels against the law we know.",
    "labels": "Labels counted against bars.",
    "want": "The waiting list.",
    "price": "What bars sell for.",
    "phone": "Phones paired with the shop's page.",
    "invoice": "Invoices, receipts and credit notes.",
    "order": "Orders: take in, reserve, pack, ship.",
}
# when one needs them: what stands under each heading of `soapstock --help`
HEADINGS: Mapping[str, str] = {
    "To begin": "start demo fat materials place level design page phone",
    "At the pot": "recipe receive opening render lots lye pour unmould",
    "While bars cure": "today curing cure weigh test photo rack card calendar",
    "Before they are sold": "ready check rules declare release hold reject label label-run labels",
    "Orders": "order promise want plan ship sell market take-back give retain publish",
    "Money": "cost spend price charge worth season journal invoice",
    "What is where": "scan stock move count waste samples",
    "When something is wrong": "undo entries follow recall record",
    "The ledger itself": "audit backup restore move-to hand-over take-in old-notes migrate",
}


def made(name: str) -> Any:
    """Make the command or group that typer runs; only here a command's file is imported."""
    if name in GROUPS:
        names = [inner for inner in COMMANDS if inner.startswith(f"{name} ")]
        return LazyGroup(
            name=name,
            headings={"Commands": names},
            help=GROUPS[name],
            no_args_is_help=True,
            rich_markup_mode=None,
        )
    file, line = COMMANDS[name]
    function = getattr(import_module(f"soapstock.cli.{file}"), re.sub("[ -]", "_", name))
    more = inspect.getdoc(function) or ""
    alone = typer.Typer(rich_markup_mode=None, add_completion=False, pretty_exceptions_enable=False)
    alone.command(name.rsplit(maxsplit=1)[-1], help=f"{line}\n\n{more}".rstrip())(function)
    return typer.main.get_command(alone)


class LazyCommands(Mapping[str, Any]):
    """Commands by their last word; each is made when it is first asked for."""

    def __init__(self, names: Iterable[str]) -> None:
        self._names = {name.split()[-1]: name for name in names}
        self._made: dict[str, Any] = {}

    def __getitem__(self, word: str) -> Any:
        if word not in self._made:
            self._made[word] = made(self._names[word])
        return self._made[word]

    def __iter__(self) -> Iterator[str]:
        return iter(self._names)

    def __len__(self) -> int:
        return len(self._names)


class LazyGroup(TyperGroup):
    """A group of commands under headings; listing them makes none."""

    def __init__(self, *, headings: Mapping[str, Sequence[str]], **attrs: Any) -> None:
        super().__init__(**attrs)
        self.headings = headings
        names = chain.from_iterable(headings.values())
        self.commands = LazyCommands(names)  # type: ignore[assignment]  # it is never added to

    def list_commands(self, ctx: Any) -> list[str]:
        """Names in the order of the list."""
        return list(self.commands)

    def format_commands(self, ctx: Any, formatter: Any) -> None:
        """Write the commands for people under their headings, each on one line."""
        widest = max(map(len, self.commands))
        for heading, names in self.headings.items():
            rows = [
                (name.split()[-1].ljust(widest), short(name, formatter.width - 6 - widest))
                for name in names
            ]
            with formatter.section(heading):
                formatter.write_dl(rows)


def short(name: str, limit: int) -> str:
    """The sentence of a command or group, cut to so many characters as typer cuts it."""
    line = GROUPS[name] if name in GROUPS else COMMANDS[name][1]
    return TyperCommand(None, help=line).get_short_help_str(limit)
