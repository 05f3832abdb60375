"""The ledger against a plain dictionary model: any number of random histories, by its own command.

    python tests/ledger/histories.py --times 100000 [--seed 1]

Each history is a random run of receipts, pours, unmouldings, decisions, moves, shipments, returns,
samples, waste, counts and undos on one small shop. The model is a dictionary of what lies where and
a list of what was done; it says by itself whether an action must be taken or refused. After every
history the ledger's stock must be the model's, and the balance and the chain must be sound.
"""

from __future__ import annotations

import argparse
import contextlib
import random
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import UTC, date, datetime
from pathlib import Path

from soapstock.errors import SoapstockError
from soapstock.ledger.facts import PourFacts, ReceiveFacts, Stamp, Use
from soapstock.ledger.keep.audit import check_balance, check_chain
from soapstock.ledger.keep.migrate import create
from soapstock.ledger.store import Ledger, open_ledger
from soapstock.ledger.write.writer import Writer

STAMP = Stamp(
    happened_on=date(2026, 9, 1),
    entered_at=datetime(2026, 9, 1, tzinfo=UTC),
    by="Invented Maker",
    note="a reason",
)
HOLDING = ("store", "rack", "shelf", "retained", "returned")
SELLING = ("store", "rack", "shelf")
USUAL = 0.8  # share of histories that begin as a shop does
Spot = tuple[str, str]


@dataclass
class Model:
    """What should lie where, by lot and place, and which lots may ship."""

    held: Counter[Spot] = field(default_factory=Counter)
    fats: set[str] = field(default_factory=set)
    batches: set[str] = field(default_factory=set)
    out: set[str] = field(default_factory=set)
    made: Counter[str] = field(default_factory=Counter)
    decision: dict[str, str] = field(default_factory=dict)
    sent: Counter[str] = field(default_factory=Counter)
    undoable: list[tuple[int, Spot, Spot, int]] = field(default_factory=list)

    def carry(self, lot: str, source: str, target: str, quantity: int) -> None:
        """Move a quantity."""
        self.held[lot, source] -= quantity
        self.held[lot, target] += quantity


def step(w: Writer, model: Model, chance: random.Random, kind: str = "") -> None:
    """One action; the ledger must take it exactly when the model allows it."""
    lot, fat = f"B{chance.choice((1, 1, 1, 2))}", f"F{chance.choice((1, 1, 1, 2))}"
    number, place = chance.randint(1, 8), chance.choice(("rack", *HOLDING))
    kind = kind or chance.choice(list(ACTIONS))
    allowed, change = ACTIONS[kind](model, lot, fat, number, place)
    taken = False
    entry = 0
    with contextlib.suppress(SoapstockError):
        entry = CALLS[kind](w, lot, fat, number, place)
        taken = True
    if taken != allowed:
        raise AssertionError(f"{kind} {lot} {fat} {number} {place}: model {allowed}, took {taken}")
    if taken:
        change(entry)


def _receive(m, lot, fat, n, place):
    def change(_):
        m.fats.add(fat)
        m.held[fat, "store"] += n * 1000

    return fat not in m.fats, change


def _pour(m, lot, fat, n, place):
    def change(_):
        m.batches.add(lot)
        m.held[fat, "store"] -= n * 500

    return lot not in m.batches and fat in m.fats and m.held[fat, "store"] >= n * 500, change


def _unmould(m, lot, fat, n, place):
    def change(_):
        m.out.add(lot)
        m.made[lot] = n + 1
        m.held[lot, "rack"] += n
        m.held[lot, "waste"] += 1

    return lot in m.batches and lot not in m.out, change


def _decide(word):
    def rule(m, lot, fat, n, place):
        def change(_):
            m.decision[lot] = word

        return lot in m.batches and (word != "release" or lot in m.out), change

    return rule


def _carry(source, target):
    def rule(m, lot, fat, n, place):
        here = place if source is None else source
        there = place if target is None else target

        def change(entry):
            m.carry(lot, here, there, n)
            if there == "customer":
                m.sent[lot] += n
            if here == "customer":
                m.sent[lot] -= n
            m.undoable.append((entry, (lot, here), (lot, there), n))

        ok = lot in m.batches and here != there and m.held[lot, here] >= n
        if target is None:  # moved about
            ok = ok and there in SELLING
            ok = ok and (there != "shelf" or m.decision.get(lot) != "hold")
        if there == "customer":
            ok = ok and here in SELLING and m.decision.get(lot) == "release"
        if here == "customer":
            ok = ok and m.sent[lot] >= n
        return ok, change

    return rule


def _count(m, lot, fat, n, place):
    def change(_):
        m.held[lot, place] = n

    elsewhere = sum(m.held[lot, at] for at in (*HOLDING, "customer", "waste") if at != place)
    return lot in m.batches and n + elsewhere <= m.made[lot], change


def _undo(m, lot, fat, n, place):
    if not m.undoable:
        return False, lambda _: None
    _, source, target, quantity = m.undoable[-1]

    def change(_):
        m.undoable.pop()
        m.held[source] += quantity
        m.held[target] -= quantity
        m.sent[source[0]] += quantity if source[1] == "customer" else 0
        m.sent[source[0]] -= quantity if target[1] == "customer" else 0

    return m.held[target] >= quantity, change


ACTIONS = {
    "receive": _receive,
    "pour": _pour,
    "unmould": _unmould,
    "release": _decide("release"),
    "hold": _decide("hold"),
    "move": _carry("rack", None),
    "ship": _carry(None, "customer"),
    "return": _carry("customer", "returned"),
    "retain": _carry(None, "retained"),
    "waste": _carry(None, "waste"),
    "count": _count,
}


def _use(fat: str, mg: int) -> tuple[Use, ...]:
    return (Use(lot_code=fat, ingredient="lard", role="fat", mass_mg=mg, place="store"),)


CALLS = {
    "receive": lambda w, lot, fat, n, place: w.receive(
        STAMP, ReceiveFacts(lot_code=fat, ingredient="lard", mass_mg=n * 1000)
    ),
    "pour": lambda w, lot, fat, n, place: w.pour(
        STAMP,
        PourFacts(
            lot_code=lot,
            recipe_code="DRF",
            recipe_version=1,
            uses=_use(fat, n * 500),
            batter_mg=10**6,
        ),
    ),
    "unmould": lambda w, lot, fat, n, place: w.unmould(STAMP, lot, n, 1, 1, 1000),
    "release": lambda w, lot, fat, n, place: w.decide(STAMP, lot, "release", "fine"),
    "hold": lambda w, lot, fat, n, place: w.decide(STAMP, lot, "hold", "spots"),
    "move": lambda w, lot, fat, n, place: w.move(STAMP, lot, n, "bars", "rack", place),
    "ship": lambda w, lot, fat, n, place: w.ship(STAMP, lot, n, place, "Invented Shop"),
    "return": lambda w, lot, fat, n, place: w.take_back(STAMP, lot, n, "Invented Shop"),
    "retain": lambda w, lot, fat, n, place: w.retain(STAMP, lot, n, place),
    "waste": lambda w, lot, fat, n, place: w.waste(STAMP, lot, n, place, "dropped"),
    "count": lambda w, lot, fat, n, place: w.count(STAMP, lot, place, n),
}


class Enough(Exception):
    """Ends a history without saving it."""


def one_history(ledger: Ledger, seed: int, *, keep: bool = False) -> int:
    """Play a history and compare; how many actions the ledger took."""
    chance, model = random.Random(seed), Model()
    done = 0
    with contextlib.suppress(Enough), ledger.write() as w:
        w.add_recipe(STAMP, code="DRF", text="made")
        for kind in ("receive", "pour", "unmould", "release") if chance.random() < USUAL else ():
            step(w, model, chance, kind)
        for _ in range(chance.randint(5, 25)):
            if chance.random() < 0.1 and model.undoable:
                _undo_last(w, model)
            else:
                step(w, model, chance)
        done = w.head_id
        _compare(w, model)
        if not keep:
            raise Enough
    return done


def _undo_last(w: Writer, model: Model) -> None:
    entry = model.undoable[-1][0]
    allowed, change = _undo(model, "", "", 0, "")
    taken = False
    with contextlib.suppress(SoapstockError):
        w.undo(STAMP, entry, "wrong")
        taken = True
    if taken != allowed:
        raise AssertionError(f"undo of {entry}: model {allowed}, took {taken}")
    if taken:
        change(0)


def _compare(w: Writer, model: Model) -> None:
    for code in sorted(model.fats | model.batches):
        lot = w.find_lot(code)
        if lot is None:
            raise AssertionError(f"{code} is gone")
        here = {
            p: n
            for p, n in w.held(lot.id, lot.unit).items()
            if n and p not in ("pot", "supplier", "count-difference")
        }
        wanted = {p: n for (c, p), n in model.held.items() if c == code and n}
        if here != wanted:
            raise AssertionError(f"{code}: ledger {here}, model {wanted}")
    problems = [*check_balance(w.db), *check_chain(w.db)]
    if problems:
        raise AssertionError(problems)


def make(url: str, seed: int) -> int:
    """Make a ledger with one history in it; how many entries it has."""
    create(url)
    with open_ledger(url) as ledger:
        return one_history(ledger, seed, keep=True)


def play(times: int, seed: int) -> int:
    """So many histories; how many entries they made."""
    with tempfile.TemporaryDirectory(prefix="soapstock-histories-") as work:
        url = f"sqlite:///{Path(work) / 'ledger.db'}"
        create(url)
        with open_ledger(url) as ledger:
            return sum(one_history(ledger, seed * 10**6 + n) for n in range(times))


def main(words: Sequence[str] | None = None) -> int:
    """Run and say how many."""
    parser = argparse.ArgumentParser(description="Random histories against a dictionary model.")
    parser.add_argument("--times", type=int, default=100_000)
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args(words)
    begun = time.perf_counter()
    entries = play(given.times, given.seed)
    sys.stdout.write(
        f"{given.times} histories, {entries} entries, "
        f"{time.perf_counter() - begun:.0f} s, all as the model says\n"
    )
    return 0


if __name__ == "__main__":
    sys.exit(main())
