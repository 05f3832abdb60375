"""How a batch is worded: its state, ready-by, weight, what is missing, and its gates.

Every list, scan, card, chart and page says these in the words of this file and of no other.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from soapstock.units import day_words
from soapstock.views.batch import BatchView

NOT_KNOWN = "not known yet"
NO_TAX_ADVICE = "This is the shop's own reckoning; nothing here is tax advice."
_STILL = {"dry": "drying", "tested": "test", "weight": "weight", "released": "release"}
_NO_DAY = {
    "on hold": "not while held",
    "failed": "not until cleared",
    "rejected": "never",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class GateWords:
    """One gate as it is shown: its name, `open` or `SHUT`, and why."""

    name: str
    stands: str
    why: str

    @property
    def line(self) -> str:
        """The gate in one line, such as `dry: SHUT, still drying`."""
        return f"{self.name}: {self.stands}, {self.why}"


# What a ready-by is cut to on a narrow screen.
SHORT = {"cured, dry": "past", "not while held": "no", "not until cleared": "no"}


def state_words(item: BatchView) -> str:
    """The state; a batch that is stopped says so in capitals."""
    state = item.readiness.state
    return state.upper() if item.stopped else state


def stop_words(item: BatchView) -> str:
    """Why a batch may not be sold; empty when nothing stops it."""
    if not item.stopped:
        return ""
    gate = "tested" if item.readiness.state == "failed" else "released"
    return item.readiness.gates[gate].reason


def ready_by_words(item: BatchView, *, year: bool = False) -> str:
    """The day a batch is expected to be ready, and its window: `5 Dec (1 to 12 Dec)`.

    A batch that is stopped has no such day, however dry it is.

    Args:
        item: the batch.
        year: name the year always, as paper that is kept should.
    """
    if item.stopped:
        return _NO_DAY[item.readiness.state]
    ready = item.ready_by
    if ready is None:
        return NOT_KNOWN
    if ready.late <= item.today:
        return "cured, dry"
    early, middle, late = (
        _day(day, item.today, year) for day in (ready.early, ready.expected, ready.late)
    )
    if ready.early == ready.late:
        return middle
    if early.split(" ", 1)[1] == late.split(" ", 1)[1]:
        early = early.split(" ", 1)[0]
    return f"{middle} ({early} to {late})"


def _day(day: date, today: date, year: bool) -> str:
    return f"{day.day} {day:%b} {day.year}" if year else day_words(day, today)


def lost_percent(item: BatchView, mass_g: float) -> float:
    """What a bar of that mass has lost of its start, %; 0 when the start is not known."""
    return round(100 * (1 - mass_g / item.start_g), 1) + 0.0 if item.start_g else 0.0


def weight_words(item: BatchView) -> str:
    """A bar's latest mass in grams and its loss since unmoulding, such as `121.0 -9.0%`."""
    if item.facts.unmould is None or item.last_weight_g is None:
        return "in mould"
    if not item.facts.weigh_ins:
        return f"{item.last_weight_g:.1f} start"
    return f"{item.last_weight_g:.1f} {0.0 - lost_percent(item, item.last_weight_g):+.1f}%"


def bars_words(item: BatchView) -> str:
    """The bars in hand; `?` while nobody can have counted them."""
    return str(item.bars) if item.facts.unmould else "?"


def day_of_cure(item: BatchView) -> str:
    """The day since the pour and the days of cure, such as `39/42`."""
    return f"{item.day}/{item.cure_days}"


def still_needs(item: BatchView) -> list[str]:
    """What a batch still needs, in one or two words a gate, such as `6 d cure`, `test`."""
    if item.readiness.state == "in mould":
        return ["unmould"]
    words = []
    for name, gate in item.readiness.gates.items():
        if gate.open:
            continue
        left = item.cure_days - item.day
        words.append(f"{left} d cure" if name == "cured" else _STILL[name])
    return words


def missing_words(item: BatchView) -> str:
    """What is missing before sale, or what stops it; `!` before it when a reading looks odd."""
    words = state_words(item) if item.stopped else ", ".join(still_needs(item)) or "ready"
    return f"! {words}" if item.alarms else words


def gate_words(item: BatchView) -> list[GateWords]:
    """The five gates in their order."""
    return [
        GateWords(name=gate.name, stands="open" if gate.open else "SHUT", why=gate.reason)
        for gate in item.readiness.gates.values()
    ]


def mark_words(item: BatchView) -> list[str]:
    """What looks odd about the batch, a sentence each."""
    return [problem.message for problem in item.alarms]
