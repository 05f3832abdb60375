"""One question sees one moment, one entry is planned where it is written."""

from __future__ import annotations

import subprocess
import sys
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path

import pytest

from soapstock.desk.desk import Desk
from soapstock.enter import decide, move, orders, pour
from soapstock.enter.launch import launch
from soapstock.ledger.store import Ledger
from soapstock.ledger.write.writer import Writer
from soapstock.recipes.target import make_target
from soapstock.views import history
from soapstock.views import orders as orders_views
from soapstock.views.cure import cure
from soapstock.views.label import label_text
from soapstock.views.today import steps

Begin = Callable[[Ledger], object]
READY = "DRF-26241-AZ"
HAVE = make_target(have="beef-tallow=300g", fat=None, bars=None, volume=None)


@pytest.fixture
def opened(monkeypatch: pytest.MonkeyPatch) -> Counter[str]:
    """How many read and write transactions were begun since."""
    begun: Counter[str] = Counter()
    for kind in ("read", "write"):
        begin = getattr(Ledger, kind)

        def counted(
            ledger: Ledger, kind: str = kind, begin: Callable[..., object] = begin
        ) -> object:
            begun[kind] += 1
            return begin(ledger)

        monkeypatch.setattr(Ledger, kind, counted)
    return begun


QUESTIONS = [
    ("scan", lambda desk: history.scan(desk, READY)),
    ("scan of an ingredient", lambda desk: history.scan(desk, "BEE-26230-AC")),
    ("promise", orders_views.promise),
    ("label", lambda desk: label_text(desk, READY)),
    ("cure", lambda desk: cure(desk, "DRF-26273-AY")),
    ("today", lambda desk: steps(desk, 7)),
]
ENTRIES = [
    ("move", lambda desk: move.move(desk, READY, 2, "shelf", from_place="rack")),
    ("ship", lambda desk: move.ship(desk, READY, 1, customer="C")),
    ("retain", lambda desk: move.retain(desk, READY, 1, from_place="rack")),
    ("waste", lambda desk: move.waste(desk, READY, "1", "dropped", from_place="rack")),
    ("count", lambda desk: move.count(desk, READY, "rack", "1")),
    ("hold", lambda desk: decide.decide(desk, READY, "hold", "a customer called")),
    ("order", lambda desk: orders.add(desk, "X-9", "C", ["DRF=2", "SAM=1"])),
]


@pytest.mark.parametrize(("name", "ask"), QUESTIONS, ids=lambda x: x if isinstance(x, str) else "")
def test_one_question_opens_one_snapshot(
    desk: Desk, opened: Counter[str], name: str, ask: Callable[[Desk], object]
) -> None:
    """What an answer says of a lot, its entries and its forecast is of one moment."""
    ask(desk)
    assert opened == {"read": 1}, name


@pytest.mark.parametrize(("name", "enter"), ENTRIES, ids=lambda x: x if isinstance(x, str) else "")
def test_one_entry_opens_one_transaction(
    desk: Desk, opened: Counter[str], name: str, enter: Callable[[Desk], object]
) -> None:
    """What an entry rests on is read where it is written."""
    enter(desk)
    assert opened == {"write": 1}, name


def test_a_launch_is_one_transaction(desk: Desk, opened: Counter[str]) -> None:
    """Its shares are read where its orders are written."""
    orders.want(desk, "A", "DRF=2")
    opened.clear()
    launch(desk, [], None, None)
    assert opened == {"write": 1}


def test_a_pour_reads_once_and_writes_once(desk: Desk, opened: Counter[str]) -> None:
    """The masses are judged on one snapshot, the lots chosen in the transaction that takes them."""
    pour.pour(desk, "EBB", [], target=HAVE, as_planned=True)
    assert opened == {"read": 1, "write": 1}


MOVING = """
import sys
from soapstock.__main__ import main
for words in (["move", "{lot}", "2", "--to", "shelf", "--from", "rack"],
              ["retain", "{lot}", "1", "--from", "rack"],
              ["waste", "{lot}", "1", "--from", "rack", "--why", "dropped"],
              ["count", "{lot}", "rack", "3", "--note", "found"],
              ["hold", "{lot}", "--why", "asked"]):
    sys.argv = ["soapstock", "--shop", r"{shop}", "--today", "2026-11-20", "--by", "t", *words]
    try:
        main()
    except SystemExit as end:
        assert not end.code, (words, end.code)
print(sorted(m for m in sys.modules if m == "numpy" or m.startswith("soapstock.cure.m")))
"""


def test_moving_bars_runs_no_forecast(demo_shop: Path) -> None:
    """To move, retain, waste, count or hold bars nobody loads the drying model, nor numpy."""
    script = MOVING.replace("{lot}", READY).replace("{shop}", str(demo_shop))
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=False, timeout=60
    )
    assert done.stdout.splitlines()[-1:] == ["[]"], done.stdout + done.stderr


class Overtaken(Ledger):
    """A ledger where somebody else writes just before we begin to."""

    def __init__(self, ledger: Ledger, first: Callable[[], object]) -> None:
        super().__init__(ledger.url, ledger.engine)
        self.first: Callable[[], object] | None = first

    @contextmanager
    def write(self) -> Iterator[Writer]:
        """Let the other go first, once."""
        first, self.first = self.first, None
        if first is not None:
            first()
        with super().write() as writer:
            yield writer


def overtaken(desk: Desk, first: Callable[[], object]) -> Desk:
    """The desk of somebody who is overtaken by another."""
    return replace(desk, ledger=Overtaken(desk.ledger, first))


def test_an_order_reserved_twice_at_once_keeps_its_bars_once(desk: Desk) -> None:
    """Two people reserve one order of three bars: three are kept, not six."""
    orders.add(desk, "X-9", "C", ["DRF=3"])
    _, entry = orders.reserve(overtaken(desk, lambda: orders.reserve(desk, "X-9")), "X-9")
    assert entry is None
    assert sum(orders_views.one(desk, "X-9").reserved.values()) == 3


def test_an_order_shipped_twice_at_once_is_shipped_once(desk: Desk) -> None:
    """The second finds it closed."""
    orders.add(desk, "X-9", "C", ["DRF=3"])
    with pytest.raises(Exception, match="closed"):
        orders.ship(overtaken(desk, lambda: orders.ship(desk, "X-9")), "X-9")
    assert sum(orders_views.one(desk, "X-9").shipped.values()) == 3


def test_a_pour_goes_on_with_the_next_lot(desk: Desk) -> None:
    """A lot emptied at the last moment stops no pour while the next has plenty."""
    with desk.ledger.read() as reader:
        lots = [lot for lot in reader.ingredient_lots("beef-tallow") if lot.left_mg > 0]
    first = lots[0].lot_code
    most = lots[0].left_g - 1

    def empty_it() -> None:
        move.waste(desk, first, f"{most} g", "spilt", from_place="store")

    done = pour.pour(overtaken(desk, empty_it), "EBB", [], target=HAVE, as_planned=True)
    taken = [use for use in done.uses if use.ingredient == "beef-tallow"]
    assert [(use.lot_code, use.mass_mg) for use in taken] == [
        (first, 1000),
        (lots[1].lot_code, 299_000),
    ]
