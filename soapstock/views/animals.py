"""Each animal's account: raw fat, rendered fat, soap, and where its bars went."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from soapstock.ledger.read.money import Traded
from soapstock.money.book import Book, ReceiptRow, Rows
from soapstock.money.flow import Step

Shares = dict[str, float]


@dataclass(slots=True, kw_only=True)
class AnimalRow:
    """What became of an animal's fat; masses in kg of rendered fat unless said.

    Where several animals' fat was rendered or poured together each counts by its mass, so that a
    bar of two animals is half a bar of each.

    Attributes:
        raw_kg: raw fat received; 0 where only the rendered fat was.
        fat_kg: fat rendered of it, or received rendered.
        poured_kg: of it, what went into pots.
        batches: batches with some of it.
        bars, sold, given, wasted, kept, on_hand: good bars with its fat and where they went; bars
            that were rebatched count where they went into.
        income_cents: what the sold ones brought in.
    """

    animal: str
    raw_kg: float = 0.0
    fat_kg: float = 0.0
    poured_kg: float = 0.0
    batches: int = 0
    bars: float = 0.0
    sold: float = 0.0
    given: float = 0.0
    wasted: float = 0.0
    kept: float = 0.0
    on_hand: float = 0.0
    income_cents: float = 0.0


def accounts(book: Book, rows: Rows, traded: list[Traded]) -> list[AnimalRow]:
    """The account of every animal that some fat came from, by its reference."""
    found: dict[str, AnimalRow] = {}
    shares = _of_lots(book, rows.receipts, found)
    if not found:
        return []
    income: dict[int, int] = defaultdict(int)
    for one in traded:
        income[one.lot] += one.goods_cents
    of_batch: dict[int, Shares] = {}
    for number in sorted(lot for lot, row in book.lots.items() if row.kind == "batch"):
        mass = _in_pot(book, number, shares, of_batch, found)
        if mass:
            of_batch[number] = mass
            _count_batch(book, number, mass, income[number], found)
    return sorted(found.values(), key=lambda row: row.animal)


def _of_lots(
    book: Book, receipts: Sequence[ReceiptRow], found: dict[str, AnimalRow]
) -> dict[int, Shares]:
    """By ingredient lot: each animal's share of its mass."""
    shares: dict[int, Shares] = {}
    for lot in receipts:
        sources = [(step, shares.get(step.lot, {})) for step, _ in book.money[lot.id].came]
        raw = book.lots[lot.id].item.startswith("raw-")
        if any(of for _, of in sources):
            shares[lot.id] = _mixed(sources)
        elif lot.animal:
            shares[lot.id] = {lot.animal: 1.0}
            row = found.setdefault(lot.animal, AnimalRow(animal=lot.animal))
            row.raw_kg += (lot.mass_mg if raw else lot.raw_fat_mg or 0) / 1e6
        if not raw:
            again = any(not book.lots[step.lot].item.startswith("raw-") for step, _ in sources)
            for animal, share in shares.get(lot.id, {}).items():
                if not again:  # fat that is cleaned once more was counted when it was rendered
                    found[animal].fat_kg += share * lot.mass_mg / 1e6
    return shares


def _mixed(sources: list[tuple[Step, Shares]]) -> Shares:
    whole = sum(step.quantity for step, _ in sources)
    mixed: Shares = defaultdict(float)
    for step, of in sources:
        for animal, share in of.items():
            mixed[animal] += share * step.quantity / whole
    return dict(mixed)


def _in_pot(
    book: Book,
    number: int,
    shares: dict[int, Shares],
    of_batch: dict[int, Shares],
    found: dict[str, AnimalRow],
) -> Shares:
    """The mass of each animal's fat in a batch, mg; what came in rebatched soap as well."""
    mass: Shares = defaultdict(float)
    for step, _ in book.money[number].came:
        if step.lot in of_batch:
            good = book.made.get(step.lot, (0, 0))[0] or 1
            for animal, whole in of_batch[step.lot].items():
                mass[animal] += whole * step.quantity / good
        for animal, share in shares.get(step.lot, {}).items():
            mass[animal] += share * step.quantity
            found[animal].poured_kg += share * step.quantity / 1e6
    return mass


def _count_batch(
    book: Book, number: int, mass: Shares, income: int, found: dict[str, AnimalRow]
) -> None:
    money = book.money[number]
    good = book.made.get(number, (0, 0))[0]
    went: dict[str, int] = defaultdict(int)
    for step, _ in money.went:
        went[step.way] += step.quantity
    whole = sum(mass.values())
    for animal, mg in mass.items():
        row, share = found[animal], mg / whole
        row.batches += 1
        row.bars += share * (good - went["lot"])
        row.sold += share * went["sold"]
        row.given += share * went["given"]
        row.wasted += share * went["wasted"]
        row.kept += share * book.kept.get(number, 0)
        row.on_hand += share * (money.left if number in book.made else 0)
        row.income_cents += share * income
