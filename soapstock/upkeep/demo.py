"""Building the invented demo shop from sample_data, by the same actions a maker uses."""

from __future__ import annotations

import csv
import hashlib
import shutil
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, time
from pathlib import Path
from typing import TYPE_CHECKING

from soapstock.desk.desk import Desk, open_desk
from soapstock.enter import batch, decide, declare, invoice, money, move, receive
from soapstock.enter.pour import Conditions, pour
from soapstock.enter.recipe import add_recipe
from soapstock.errors import BadInput, RuleBroken, SoapstockError
from soapstock.papers import cards as cards_papers
from soapstock.papers import labels
from soapstock.papers.batch_sheet import print_batch_sheet
from soapstock.recipes.target import make_target
from soapstock.shop import SHOP_FILE, load_shop
from soapstock.tables.shipped import shipped_dir
from soapstock.upkeep.ledger import BACKUPS
from soapstock.upkeep.start import start_shop
from soapstock.views import label as label_views
from soapstock.views.recipes import scale_recipe

if TYPE_CHECKING:
    from soapstock.enter.entered import Entered


DEMO_DAY = date(2026, 11, 20)
MARK = ".soapstock-demo"


@dataclass(frozen=True, slots=True, kw_only=True)
class Demo:
    """The demo shop as built: its name, its fixed day, lots by their pour's name, what to show."""

    name: str
    today: date
    lots: Mapping[str, str]

    @property
    def scan_lot(self) -> str:
        """The lot that the demo scans: poured first, released, partly shipped."""
        return self.lots["P01"]


def rows_of(name: str) -> list[dict[str, str]]:
    """The rows of one of the demo's CSV files."""
    path = shipped_dir("sample_data") / name
    with path.open(encoding="utf-8", newline="") as handle:
        return [dict(row) for row in csv.DictReader(handle)]


def build_demo(folder: Path) -> Demo:
    """Build the demo shop in a folder, replacing only a demo built before.

    Raises:
        RuleBroken: the folder holds anything else, or a demo in which somebody worked.
    """
    if folder.exists():
        if not folder.is_dir() or (any(folder.iterdir()) and not (folder / MARK).is_file()):
            raise RuleBroken(
                f"{folder} is not an empty folder nor a demo", hint="name another folder"
            )
        if _in_use(folder):
            raise RuleBroken(
                f"the demo in {folder} is in use: it has entries, settings or backups of its own",
                hint="name another folder, or delete that one yourself",
            )
        shutil.rmtree(folder)
    model = replace(load_shop(shipped_dir("sample_data")), folder=folder)
    try:
        folder.mkdir(parents=True)
        (folder / MARK).write_text(
            "An invented shop, to look at; it may be made anew.\n", encoding="utf-8"
        )
    except OSError as err:
        raise BadInput(f"cannot make {folder} ({err.strerror or err})") from err
    start_shop(model)
    lots = _fill(folder)
    _note_state(folder)
    return Demo(name=model.maker, today=DEMO_DAY, lots=lots)


def _note_state(folder: Path) -> None:
    """Note in the mark what the demo was when it was built."""
    with (folder / MARK).open("a", encoding="utf-8") as mark:
        mark.write(_state(folder) + "\n")


def _in_use(folder: Path) -> bool:
    """Whether a demo is no longer as it was built; one that was cut off while built is not."""
    if (folder / BACKUPS).exists():
        return True
    noted = (folder / MARK).read_text(encoding="utf-8").splitlines()[1:]
    return bool(noted) and noted[0] != _state(folder)


def _state(folder: Path) -> str:
    """The newest entry and the settings of a shop as one text; "" where it cannot be opened."""
    from soapstock.ledger.store import open_ledger

    try:
        with open_ledger(load_shop(folder).database_url) as ledger, ledger.read() as reader:
            number, digest = reader.head()
        settings = (folder / SHOP_FILE).read_bytes()
    except (SoapstockError, OSError):
        return ""
    return f"{number}:{digest} {hashlib.sha256(settings).hexdigest()}"


@contextmanager
def open_demo(folder: Path, demo: Demo) -> Iterator[Desk]:
    """Open the demo shop on its fixed day."""
    with open_desk(folder, today=demo.today, now=_noon(demo.today), by="demo maker") as desk:
        yield desk


def _noon(day: date) -> datetime:
    return datetime.combine(day, time(12), tzinfo=UTC)


def _fill(folder: Path) -> dict[str, str]:
    """Enter all facts in order of their days, each on its own day."""
    lots: dict[str, str] = {}
    queue: list[tuple[date, int, str, dict[str, str]]] = []
    files = ("receipts", "pours", "unmouldings", "weigh_ins", "events")
    for order, name in enumerate(files):
        for row in rows_of(f"{name}.csv"):
            queue.append((date.fromisoformat(row["day"]), order, name, row))
    queue.sort(key=lambda item: (item[0], item[1]))
    first = queue[0][0]
    with open_desk(folder, today=first, now=_noon(first), by="demo maker") as desk:
        for path in sorted((shipped_dir("sample_data") / "recipes").glob("*.toml")):
            add_recipe(desk, path)
        for day, _, name, row in queue:
            that_day = replace(desk, today=day, now=_noon(day))
            _ENTER[name](that_day, row, lots)
        _take_orders(desk)
        for row in rows_of("money.csv"):
            day = date.fromisoformat(row["day"])
            _money(replace(desk, today=day, now=_noon(day)), row, lots)
    return lots


def _take_orders(desk: Desk) -> None:
    """Enter the waiting orders, each on the day it came."""
    from soapstock.enter import orders

    by_order: dict[str, list[dict[str, str]]] = {}
    for row in rows_of("orders.csv"):
        by_order.setdefault(row["order"], []).append(row)
    for order_ref, rows in by_order.items():
        day = date.fromisoformat(rows[0]["ordered_on"])
        orders.add(
            replace(desk, today=day, now=_noon(day)),
            order_ref,
            rows[0]["customer"],
            [f"{row['recipe']}={row['bars']}" for row in rows],
            destination=rows[0]["destination"],
            wanted_on=date.fromisoformat(rows[0]["wanted_by"]),
        )


def _money(desk: Desk, row: dict[str, str], lots: dict[str, str]) -> None:
    """Enter a price, money or work spent, what a parcel was sold for, or paper about it."""
    kind, of, what = row["kind"], row["of"], row["what"]
    if kind == "price":
        money.set_price(desk, of, row["amount"], buyer=row["buyer"])
    elif kind == "spend":
        money.spend(desk, lots.get(of, of), what, row["amount"])
    elif kind == "charge":
        terms = money.Terms(buyer=row["buyer"], postage=row["postage"])
        with desk.ledger.read() as reader:
            sold = next(t.entry for t in reader.traded(desk.today) if t.order_ref == of)
        money.charge(desk, sold, terms)
    elif kind == "credit":
        with desk.ledger.read() as reader:
            given = [one for one in reader.invoices() if one.order_ref == of]
        invoice.credit(desk, given[-1].shown, what)
    else:
        invoice.write_invoice(desk, of, paid=what)


def _receipt(desk: Desk, row: dict[str, str], lots: dict[str, str]) -> None:
    del lots
    receive.receive(
        desk,
        row["ingredient"],
        row["mass"],
        supplier=row["supplier"],
        supplier_lot=row["supplier_lot"],
        cost=row["cost"],
        best_before=date.fromisoformat(row["best_before"]) if row["best_before"] else None,
        certificate_sv=row["sv"],
        certificate=row["certificate"],
        animal=row["animal"],
        raw_fat=row["raw_fat"],
        note=row["note"],
    )


def _number(text: str) -> float | None:
    return float(text) if text else None


def _pour(desk: Desk, row: dict[str, str], lots: dict[str, str]) -> None:
    poured = pour(
        desk,
        row["recipe"],
        [part for part in row["weighed"].split(";") if part],
        target=make_target(have=row["have"], fat=None, bars=None, volume=None),
        as_planned=True,
        conditions=Conditions(
            lye_c=_number(row["lye_c"]),
            fats_c=_number(row["fats_c"]),
            peak_c=_number(row["peak_c"]),
            room_c=_number(row["room_c"]),
            room_rh=_number(row["room_rh"]),
            trace_minutes=_number(row["trace_minutes"]),
            mould=row["mould"],
        ),
        note=row["note"],
    )
    lots[row["pour"]] = poured.lot_code


def _unmoulding(desk: Desk, row: dict[str, str], lots: dict[str, str]) -> None:
    batch.unmould(
        desk,
        lots[row["pour"]],
        int(row["bars"]),
        row["mass"],
        counted=int(row["counted"]),
        rejects=int(row["rejects"]),
        note=row["note"],
    )


def _weigh_in(desk: Desk, row: dict[str, str], lots: dict[str, str]) -> None:
    batch.weigh(
        desk,
        lots[row["pour"]],
        int(row["bars"]),
        row["mass"],
        room_c=_number(row["room_c"]),
        room_rh=_number(row["room_rh"]),
    )


def _event(desk: Desk, row: dict[str, str], lots: dict[str, str]) -> Entered:
    lot, kind, bars = lots[row["pour"]], row["kind"], row["bars"]
    if kind == "test":
        return batch.test(
            desk,
            lot,
            row["what"],
            passed={"pass": True, "fail": False}.get(row["outcome"]),
            value=row["value"],
        )
    if kind in ("release", "hold", "reject"):
        return decide.decide(desk, lot, kind, row["why"])  # type: ignore[arg-type]
    if kind == "declare":
        return declare.declare(desk, lot, row["value"], row["why"])
    if kind == "move":
        return move.move(desk, lot, int(bars), row["what"])
    if kind == "retain":
        return move.retain(desk, lot, int(bars))
    if kind == "waste":
        return move.waste(desk, lot, bars, row["why"])
    return move.ship(
        desk,
        lot,
        int(bars),
        customer=row["what"],
        order_ref=row["value"],
        destination=row["outcome"],
    )


def _enter_event(desk: Desk, row: dict[str, str], lots: dict[str, str]) -> None:
    _event(desk, row, lots)


_ENTER = {
    "receipts": _receipt,
    "pours": _pour,
    "unmouldings": _unmoulding,
    "weigh_ins": _weigh_in,
    "events": _enter_event,
}


def print_demo(desk: Desk, demo: Demo) -> list[tuple[Path, str]]:
    """Print the demo's labels, batch sheet and rack cards; returns each file and what it is."""
    out = desk.shop.folder / "print"
    out.mkdir(exist_ok=True)
    made: list[tuple[Path, str]] = []
    for pour_name, face in (("P01", "panel"), ("P02", "band")):
        label = label_views.label_text(desk, demo.lots[pour_name])
        name = label.item.recipe.name
        path = out / f"labels-{name.lower()}-{face}.pdf"
        result = labels.print_labels(desk, label, path, face=face)
        made.append((path, f"{result.labels} {face} labels of {name}"))
    target = make_target(have="beef-tallow=1320g", fat=None, bars=None, volume=None)
    recipe, version, scaled = scale_recipe(desk, "DRF", target)
    sheet_path = out / "batch-sheet-driftwood.pdf"
    print_batch_sheet(desk, recipe, version, scaled, sheet_path, desk.today)
    made.append((sheet_path, "batch sheet for the next pour of Driftwood"))
    cards = out / "rack-cards.pdf"
    number = cards_papers.print_cards(desk, list(demo.lots.values())[-6:], cards)
    made.append((cards, f"{number} rack cards"))
    return made
