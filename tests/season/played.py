"""A maker's season, from March to July, typed command by command; invented, as its shop is.

Each command is run in this process on its own day. What is typed is counted, with the Enter that
ends it; days are not, since a maker works on the day it is. After each command the shop is looked
over: `look_over` holds what must be true of any shop on any day.
"""

from __future__ import annotations

import math
import shlex
from collections.abc import Iterator, Sequence
from contextlib import chdir, contextmanager
from dataclasses import dataclass, field
from datetime import UTC, date, datetime
from pathlib import Path

from typer.testing import CliRunner

from soapstock.cli.frame.app import app
from soapstock.desk.desk import Desk, open_desk
from soapstock.enter.recall import recall
from soapstock.shop import Shop
from soapstock.upkeep.start import start_shop
from soapstock.views import orders
from soapstock.views.batch import views
from soapstock.views.stock import stock
from tests.conftest import CHECKOUT

RECIPES = CHECKOUT / "sample_data" / "recipes"
MARCH = """ingredient,mass,lot,cost,best_before
beef-tallow,12kg,T-1,40.00,2027-03-01
mutton-tallow,6kg,T-2,20.00,2027-03-01
coconut,8kg,C-1,36.00,2028-03-01
olive,5kg,O-1,30.00,2027-08-01
high-oleic-sunflower,2kg,S-1,8.00,2027-08-01
castor,1kg,R-1,9.00,2027-08-01
naoh,4kg,N-1,20.00,
kaolin,1kg,K-1,5.00,
virginia-cedarwood-oil,500g,V-1,25.00,2028-01-01
charcoal,100g,H-1,4.00,
sweet-orange-oil,300g,W-1,12.00,2027-06-01
bladderwrack,200g,B-1,6.00,
rosemary-oil,300g,M-1,14.00,2028-01-01
sea-salt,1kg,A-1,2.00,
"""
Pot = tuple[str, str, int, float, float]
# recipe, day of pour, bars, grams of a bar from the mould, grams of it in the end
POTS: tuple[Pot, ...] = (
    ("EBB", "2026-03-02", 20, 133.0, 121.0),
    ("DRF", "2026-03-03", 20, 133.0, 120.0),
    ("LAN", "2026-03-04", 20, 112.0, 104.0),
    ("WRK", "2026-03-05", 20, 133.0, 119.0),
    ("SAM", "2026-03-06", 20, 126.0, 108.0),
    ("EBB", "2026-03-09", 24, 133.0, 121.0),
    ("DRF", "2026-03-10", 24, 133.0, 120.0),
    ("WRK", "2026-03-11", 20, 133.0, 119.0),
)
WEB = "order,customer,recipe,bars,note\n" + "".join(
    f"W-{n},Customer {n},{first},2,{'a gift' if n == 3 else ''}\nW-{n},,{second},1,\n"
    for n, (first, second) in enumerate(
        [("EBB", "DRF"), ("DRF", "LAN"), ("LAN", "EBB"), ("EBB", "LAN")] * 3, 1
    )
)


@dataclass
class Act:
    """One of a maker's jobs as it was typed: commands, and keys with Enter."""

    name: str
    commands: int = 0
    keys: int = 0


@dataclass
class Season:
    """The shop, what was typed so far, and what each command said."""

    folder: Path
    day: str = "2026-03-01"
    acts: dict[str, Act] = field(default_factory=dict)
    said: list[tuple[str, str]] = field(default_factory=list)
    _act: str = ""

    def type(self, line: str, answers: str = "", *, refused: bool = False) -> str:
        """Run one command line on the day it is; what it said."""
        words = ["--shop", str(self.folder), "--today", self.day, *shlex.split(line)]
        before = self.entries()
        result = CliRunner().invoke(app, words, input=answers)
        told = result.stdout + result.stderr
        assert (result.exit_code != 0) == refused, f"{line}\n{told}"
        assert result.exit_code != 1, told
        if self._act:
            act = self.acts.setdefault(self._act, Act(self._act))
            act.commands += 1
            act.keys += len("soapstock ") + len(line) + 1 + len(answers)
        self.said.append((line, told))
        if self.entries() != before:
            self.look_over()
        return told

    @contextmanager
    def act(self, name: str) -> Iterator[None]:
        """What is typed meanwhile belongs to this job."""
        self._act = name
        yield
        self._act = ""

    @contextmanager
    def desk(self) -> Iterator[Desk]:
        """The shop's desk on the day it is."""
        day = date.fromisoformat(self.day)
        with open_desk(self.folder, today=day, now=datetime.now(UTC), by="tm") as desk:
            yield desk

    def entries(self) -> int:
        """How many entries the ledger has."""
        with self.desk() as desk, desk.ledger.read() as reader:
            return reader.head()[0]

    def paper(self, name: str, text: str) -> Path:
        """A file of the maker's."""
        path = self.folder / name
        path.write_text(text, encoding="utf-8")
        return path

    def on(self, day: str) -> None:
        """Go on to another day, on which all must still hold."""
        self.day = day
        self.look_over()

    def look_over(self) -> None:
        """What must be true of the shop whatever was done."""
        with self.desk() as desk, desk.reading() as (here, reader):
            for row in orders.listed(here, everything=True):
                closed = row.outcome not in ("open",)
                assert row.owed == (0 if closed else row.bars - sum(row.shipped.values())), row
            free = {row.lot: row.lot_free for row in stock(here) if row.lot_free is not None}
            supply: dict[str, int] = {}
            for item in views(here):
                failed = [test for test in item.facts.tests if not test.passed]
                cleared = any(t.passed and t.method == "titration" for t in item.facts.tests)
                if failed and not cleared:
                    assert item.readiness.state not in ("ready", "awaiting release")
                if item.stopped:
                    assert free.get(item.facts.lot_code, 0) == 0
                elif item.bars > 0:
                    code = item.facts.recipe_code
                    supply[code] = supply.get(code, 0) + item.bars
            for promised in orders.promise(here):
                assert promised.free <= supply.get(promised.recipe, 0)
            for lot in reader.ingredient_lots("naoh"):
                self._look_at_recall(here, str(lot.lot_code))

    @staticmethod
    def _look_at_recall(desk: Desk, lot: str) -> None:
        done = recall(desk, lot, clock=lambda: 0.0)
        out = sum(
            bars
            for affected in done.found.affected
            for place, bars in affected.places.items()
            if place in ("customer", "given")
        )
        assert sum(row.bars for row in done.customers) == out
        assert all(row.customer for row in done.customers)


def bar_g(pot: Pot, day: str) -> float:
    """Grams of a bar on a day: it loses to its end, by e in twelve days (invented)."""
    _, poured, _, start, end = pot
    days = (date.fromisoformat(day) - date.fromisoformat(poured)).days
    return end + (start - end) * math.exp(-max(days - 1, 0) / 12)


def lot_of(pot: Pot) -> str:
    """The beginning of its lot code that only it has."""
    return f"{pot[0]}{date.fromisoformat(pot[1]):%y%j}"


def shop_in(folder: Path) -> Path:
    """A new shop in that folder."""
    start_shop(Shop(folder=folder, maker="Test Maker", address=("1 Lane", "Town"), by="tm"))
    return folder


def play(folder: Path) -> Season:
    """Live the season in the shop's folder; each part is one of the maker's months."""
    season = Season(folder)
    with chdir(folder):
        _begin(season)
        _pour(season)
        _cure(season)
        _release(season)
        _sell(season)
        _mend(season)
    season.look_over()
    return season


def _begin(season: Season) -> None:
    for name in ("ebb", "driftwood", "lantern", "wrack", "samphire"):
        season.type(f"recipe add {RECIPES / name}.toml")
    listed = season.paper("m.csv", MARCH)
    season.type(f'receive --list {listed} --supplier "Quay Oils"')
    with season.act("delivery of 5"):
        season.type(
            "receive",
            "Quay Oils\nolive,4500,O-2,28,2027-09\ncoconut,4000,C-2,18,2028-03\n"
            "castor,500,R-2,5,2027-09\nnaoh,2000,N-2,10\nkaolin,500,K-2,3\n\n",
        )
    for code in ("EBB", "DRF", "LAN", "WRK", "SAM"):
        season.type(f"price set {code} 7.50")


def _pour(season: Season) -> None:
    for pot in POTS:
        code, poured, bars, start, _ = pot
        season.day = poured
        season.type(f"pour {code} --bars {bars} --as-planned")
        season.day = date.fromordinal(date.fromisoformat(poured).toordinal() + 1).isoformat()
        season.type(f"unmould {lot_of(pot)} --bars {bars} --mass {bars * start:.0f}g")


def _cure(season: Season) -> None:
    """Weekly rounds with the scale; the keys of six batches' round are counted."""
    weeks = ("2026-03-14", "2026-03-21", "2026-03-28", "2026-04-11")
    for day in weeks:
        season.on(day)
        with season.act("weekly weigh-in of 6"):
            _weigh(season, POTS)
    one = season.acts["weekly weigh-in of 6"]  # of eight: six of them are counted
    one.commands, one.keys = one.commands // len(weeks), math.ceil(one.keys / len(weeks) * 6 / 8)
    assert "Curing" in season.type("curing")
    season.type(f"weigh {lot_of(POTS[0])} 2470g --bars 20")
    with season.act("a weigh-in mistyped"):
        season.type("undo last")


def _weigh(season: Season, pots: Sequence[Pot]) -> None:
    """Weigh these batches; answers come in the order asked, place by place and lot by lot."""
    turn = sorted(pots, key=lot_of)
    answers = "".join(f"{bar_g(pot, season.day) * pot[2]:.0f}\n" for pot in turn)
    told = season.type("weigh --place rack", answers)
    assert told.count("Weighed ") == len(pots), told


def _release(season: Season) -> None:
    """Tests and releases; one batch burns, one is lighter than its label."""
    season.on("2026-04-18")
    sound = [lot_of(pot) for n, pot in enumerate(POTS) if n not in (LIGHT, BURNS)]
    with season.act("test and release of 5"):
        season.type(f"test {' '.join(sound[:5])} --method zap --pass --release cured")
    season.type(f"test {sound[5]} --method zap --pass")
    season.type(f"release {sound[5]} --why cured")
    burns, light = lot_of(POTS[BURNS]), lot_of(POTS[LIGHT])
    season.type(f'test {burns} --method zap --fail --note "two bars zap"')
    season.type(f"test {burns} --method zap --pass")
    assert "tested" in season.type(f"release {burns} --why ok", refused=True)
    assert "failed" in season.type("today")
    season.type(f"test {light} --method zap --pass")
    assert "weight" in season.type(f"release {light} --why cured", refused=True)
    paper = season.folder / "l.pdf"
    told = season.type(f"label {light} --declared 100g --out {paper}", refused=True)
    assert "soapstock declare" in told
    assert not paper.exists()
    season.type(f'declare {light} 100g --why "drier than planned"')
    season.type(f"release {light} --why cured")
    season.type(f"label {light} --out {paper}")
    season.type(f"test {burns} --method titration --value 0.02")
    season.type(f"release {burns} --why titrated")


def _sell(season: Season) -> None:
    """Web orders, a market, a wholesale order, one sent by mistake, one sent back."""
    season.on("2026-04-25")
    file = season.paper("w.csv", WEB)
    season.type(f"order import {file}")
    web = " ".join(f"W-{n}" for n in range(1, 9))
    with season.act("8 web orders"):
        season.type(
            "order add", "".join(f"H-{n},Buyer-{n},EBB=2 DRF=1\n" for n in range(1, 9)) + "\n"
        )
        picked = season.type("order pack --pick p.pdf --slip s.pdf")
        season.type("order ship " + web.replace("W", "H"))
    assert all(f"H-{n}" in picked for n in range(1, 9))
    season.type(f"order ship {web}")
    with season.act("a mis-shipped order"):
        season.type('order unship W-3 --because "wrong box"')
    listed = season.type("order list")
    assert "W-3" in listed
    assert "a gift" in listed
    season.type("order ship W-3 W-9 W-10 W-11 W-12")
    lines = "".join(f"V-{n},Customer {n},DRF,1,\n" for n in range(1, 7))
    season.type(f"order import {season.paper('v.csv', WEB.splitlines()[0] + chr(10) + lines)}")
    season.type("order ship " + " ".join(f"V-{n}" for n in range(1, 7)))
    season.on("2026-05-02")
    with season.act("market day, 12 bars of 4 kinds"):
        told = season.type("market Quay EBB=6/4 DRF=6/3 LAN=6/3 WRK=6/2")
    assert "In the box: 90.00 USD" in told  # 12 bars at 7.50
    season.type("market Quay EBB=4 WRK=4")
    assert "Back on shelf: 6 bars" in season.type("market Quay", "2\n0\n")
    season.type("order add WH-1 WRK=20 --from Grocer --wanted-by 2026-06-30")
    season.type("order add W-20 WRK=19 --from Customer-20")
    assert "W-20" in season.type("order reserve WH-1")
    assert "20" in season.type("order free WH-1")
    season.type("order ship W-20")
    told = season.type('order ship WH-1 --short --why "the rest in July"')
    assert "stay owed" in told
    assert "WH-1" in season.type("order list")
    everything = season.type("order list --all")
    assert "Sold without an order" in everything
    assert "Quay" in everything


def _mend(season: Season) -> None:
    """A return, an oil gone off, a recall, a count, a gift."""
    season.on("2026-05-16")
    season.type('take-back EBB26061 1 --from Customer-20 --why "no"', refused=True)
    season.type("take-back EBB26061 1 --from Buyer-1 --why scent")
    told = season.type("recall EBB26061")
    assert "Buyer-2" in told
    oil = season.type("lots olive").split("OLI-")[1].split()[0]
    season.type(f"hold OLI-{oil} --why rancid")
    said = season.type("today")
    assert f"OLI-{oil}" in said
    assert "rancid" in said
    more = "".join(
        f"{what},{100 + n}g,K-{n},1.00\n"
        for n in range(23)
        for what in ("kaolin", "charcoal", "castor")
    )
    listed = season.paper("y.csv", MARCH.splitlines()[0] + "\n" + more)
    told = season.type(f'receive --list {listed} --supplier "Quay Oils"')
    assert told.count("Received") == 69
    told = season.type(f'receive --list {listed} --supplier "Quay Oils"', refused=True)
    assert "was it entered before?" in told
    assert "y.csv:2" in told
    season.type("give DRF26069 1 --for gift --to Neighbour --from rack")
    season.type("samples")
    season.type("waste LAN26063 1 --why dropped --from rack")
    with season.act("what do I do today?"):
        season.type("today")
    season.type("audit")


LIGHT, BURNS = 4, 7  # which pots dry under their label, and which burns the tongue
