"""The pot while it is being weighed: what superfat can still be reached, and what mends a mass.

A line is a fat, `naoh`, `koh`, `water` or an addition, by its key. What is weighed stands; what is
still open may be chosen. No mend is offered that could leave more lye over than the plan could.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal

from soapstock.chemistry.fats import all_fats, get_fat
from soapstock.chemistry.interval import Interval
from soapstock.chemistry.lye import FatPortion, judge_superfat, lye_demand
from soapstock.chemistry.takers import lye_takers
from soapstock.chemistry.uncertainty import study_superfat
from soapstock.recipes.pour import NOTABLE_PERCENT, NOTABLE_STEPS
from soapstock.recipes.recipe import Recipe
from soapstock.recipes.written import lye_of
from soapstock.tables import read_toml
from soapstock.units import mass_words

ALKALIS = ("naoh", "koh")
WATER = "water"
NAMES = {"naoh": "NaOH", "koh": "KOH", WATER: "Water"}
_MOST_TIMES = Decimal("1.5")  # our own: beyond it a slip is likelier, and the pot may run over
Masses = Mapping[str, Decimal]


@dataclass(frozen=True, slots=True, kw_only=True)
class PotSoFar:
    """A pour half weighed, g.

    Attributes:
        planned: every line of the plan, in weighing order.
        weighed: the lines that are weighed; a substitute stands here alone.
        scale_step_g: the scale's step, g.
        sv: saponification value of a fat where a lot's is known, mg KOH/g.
    """

    recipe: Recipe
    planned: Masses
    weighed: Masses
    scale_step_g: Decimal
    sv: Mapping[str, Interval] = field(default_factory=dict)

    def whole(self, open_lines: Masses | None = None) -> dict[str, Decimal]:
        """All masses, the open lines as planned unless given."""
        return {**self.planned, **(open_lines or {}), **self.weighed}


@dataclass(frozen=True, slots=True, kw_only=True)
class Reach:
    """The superfat that can still be reached, %.

    Attributes:
        as_planned: when all that is open goes as planned; weighing errors included.
        low, high: nominal superfat at the two ends of what may honestly be weighed.
        lost: lye is left over whatever is weighed from here on.
    """

    as_planned: Interval
    low: float
    high: float
    lost: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class PotMend:
    """One way to mend a mass: in words, and the plan that follows from it, g."""

    words: str
    planned: Masses


def line_name(key: str) -> str:
    """A line as it is shown: `NaOH`, a fat's trade name, or the words of an addition's key."""
    fat = all_fats().get(key)
    return NAMES.get(key) or (fat.trade_name if fat else key.replace("-", " "))


def superfat_of(pot: PotSoFar, masses: Masses) -> Interval:
    """Bounds of the superfat of these masses, %, weighing errors included. BadInput: no fat."""
    lye = lye_of(pot.recipe, masses.get("naoh", Decimal(0)), masses.get("koh", Decimal(0)))
    step = float(pot.scale_step_g)
    return study_superfat(_takers(pot, masses), lye, scale_step_g=step).bounds


def _takers(pot: PotSoFar, masses: Masses) -> tuple[FatPortion, ...]:
    fats = [
        FatPortion(fat=key, mass_g=float(mass), sv=_sv(pot, key))
        for key, mass in masses.items()
        if key in all_fats() and mass > 0
    ]
    return (*fats, *lye_takers({k: float(m) for k, m in masses.items() if k not in all_fats()}))


def _sv(pot: PotSoFar, key: str) -> Interval:
    return pot.sv.get(key) or get_fat(key).sv


def still_reachable(pot: PotSoFar) -> Reach:
    """The superfat that an honest choice of what is still open can reach.

    An honest choice of a line lies within the share of its plan beyond which a pour is asked about
    (tables/chemistry/lye.toml, pour.far_off_percent). Superfat falls with the lye and rises with
    every fat, so that its ends lie at the ends of the choices: most lye with least of the rest, and
    the reverse.

    Raises:
        BadInput: the plan has no fat.
    """
    share = Decimal(repr(float(read_toml("chemistry/lye.toml")["pour"]["far_off_percent"]))) / 100
    ends = []
    for lye, rest in ((1 + share, 1 - share), (1 - share, 1 + share)):
        factor = {key: lye if key in ALKALIS else rest for key in pot.planned}
        ends.append(superfat_of(pot, pot.whole({k: m * factor[k] for k, m in pot.planned.items()})))
    lost = judge_superfat(ends[1]).word == "refuse"
    return Reach(
        as_planned=superfat_of(pot, pot.whole()),
        low=ends[0].nominal,
        high=ends[1].nominal,
        lost=lost,
    )


def is_off(pot: PotSoFar, key: str) -> bool:
    """Whether a weighed line lies notably off its plan."""
    gap = abs(pot.weighed[key] - pot.planned.get(key, Decimal(0)))
    small = gap <= NOTABLE_STEPS * pot.scale_step_g
    return not small and float(gap) * 100.0 > NOTABLE_PERCENT * float(pot.planned.get(key, 0))


def is_far_off(pot: PotSoFar, key: str) -> bool:
    """Whether a weighed line is more than half off its plan, so that a slip is likely."""
    planned = pot.planned.get(key)
    if not planned:
        return False
    return abs(pot.weighed[key] / planned - 1) > _MOST_TIMES - 1


def would_be_refused(pot: PotSoFar) -> bool:
    """Whether the pot is refused when all that is open goes as planned, by the rule of a pour."""
    now, plan = superfat_of(pot, pot.whole()), superfat_of(pot, pot.planned)
    fall = float(read_toml("chemistry/lye.toml")["pour"]["refuse_fall_points"])
    fallen = now.low < 0.0 and plan.nominal - now.nominal > fall
    return fallen or judge_superfat(now).word == "refuse"


def pot_mends(pot: PotSoFar, key: str) -> tuple[PotMend, ...]:
    """What mends a line that is off its plan or spoils the pot; none nearer to lye than it was.

    Raises:
        BadInput: the plan has no fat.
    """
    if key == WATER or not pot.planned.get(key) or pot.weighed[key] == pot.planned[key]:
        return ()
    if not is_off(pot, key) and not would_be_refused(pot):
        return ()
    before = superfat_of(pot, pot.planned)
    found = []
    for one in _ways(pot, key):
        after = superfat_of(pot, {**one.planned, **_standing(pot, one.planned)})
        worse = after.low < min(before.low, 0.0) - 0.05  # a step of the scale, no more
        if judge_superfat(after).word != "refuse" and not worse:
            found.append(one)
    return tuple(found)


def _standing(pot: PotSoFar, planned: Masses) -> dict[str, Decimal]:
    """What is in the pot already and cannot come out; lye in its jug may be left there."""
    return {k: m for k, m in pot.weighed.items() if k not in (*ALKALIS, WATER) and m > planned[k]}


def _ways(pot: PotSoFar, key: str) -> Iterator[PotMend]:
    ratio = {k: m / pot.planned[k] for k, m in pot.weighed.items() if pot.planned.get(k)}
    if ratio[key] > _MOST_TIMES:
        return
    if ratio[key] > 1:
        yield _in_proportion(pot, max(ratio.values()))
        return
    others = [k for k in ratio if k in all_fats() and k != key]
    if key in ALKALIS:
        more = pot.planned[key] - pot.weighed[key]
        yield PotMend(words=f"weigh {mass_words(more)} more {line_name(key)}", planned=pot.planned)
        return
    if all(ratio[k] <= ratio[key] * Decimal("1.01") for k in others):
        yield _in_proportion(pot, ratio[key])
    yield _less_lye(pot)
    if key in all_fats():
        yield from (_filled(pot, key, other) for other in _fats_of(pot) if other != key)


def _fats_of(pot: PotSoFar) -> list[str]:
    return [key for key in pot.whole() if key in all_fats()]


def _rounded(pot: PotSoFar, key: str, mass_g: Decimal) -> Decimal:
    """To the scale's step, a fat up and lye down: the careful way."""
    way = ROUND_FLOOR if key in ALKALIS else ROUND_CEILING
    return (mass_g / pot.scale_step_g).to_integral_value(rounding=way) * pot.scale_step_g


def _in_proportion(pot: PotSoFar, factor: Decimal) -> PotMend:
    planned = {k: _rounded(pot, k, m * factor) for k, m in pot.planned.items()}
    more, then = [], []
    for key, mass in planned.items():
        there = pot.weighed.get(key)
        if there is None:
            then.append(f"{mass_words(mass)} {line_name(key)}")
        elif mass - there > pot.scale_step_g:
            more.append(f"{mass_words(mass - there)} more {line_name(key)}")
    jug = _jug(pot, planned)
    said = [", ".join(more), f"then weigh {', '.join(then)}" if then else "", jug]
    words = "; ".join(part for part in said if part)
    return PotMend(words=f"the same proportions, {factor:.2f} times: {words}", planned=planned)


def _jug(pot: PotSoFar, planned: Masses) -> str:
    """How much of lye already in its jug to use, where the plan now wants less; else empty."""
    lye = [k for k in (*ALKALIS, WATER) if k in pot.weighed]
    mixed = sum((pot.weighed[k] for k in lye), Decimal(0))
    wanted = sum((planned[k] for k in lye), Decimal(0))
    if not any(k in ALKALIS for k in lye) or wanted >= mixed:
        return ""
    what = "lye solution mixed" if WATER in lye else "lye weighed"
    return f"use only {mass_words(wanted)} of the {mass_words(mixed)} of {what}"


def _less_lye(pot: PotSoFar) -> PotMend:
    """Lye for the fats there are, by their usual or their lowest demand, whichever is less."""
    now, plan = (lye_demand(_takers(pot, m)) for m in (pot.whole(), pot.planned))
    share = Decimal(repr(min(now.nominal / plan.nominal, now.low / plan.low)))
    planned = {
        k: _rounded(pot, k, m * share) if k in (*ALKALIS, WATER) else pot.whole()[k]
        for k, m in pot.planned.items()
    }
    words = _jug(pot, planned)
    if not words:
        lye = [k for k in (*ALKALIS, WATER) if planned.get(k) and k not in pot.weighed]
        words = "weigh only " + ", ".join(f"{mass_words(planned[k])} {line_name(k)}" for k in lye)
    return PotMend(words=f"{words}: the lye for the fats there are", planned=planned)


def _filled(pot: PotSoFar, key: str, other: str) -> PotMend:
    """So much of another fat that it takes the lye which the missing fat would have taken."""
    missing_g, short, fills = pot.planned[key] - pot.weighed[key], _sv(pot, key), _sv(pot, other)
    times = max(short.nominal / fills.nominal, short.low / fills.low)
    more = _rounded(pot, other, missing_g * Decimal(repr(times)))
    planned = {**pot.planned, key: pot.weighed[key], other: pot.whole()[other] + more}
    words = f"{mass_words(more)} more {line_name(other)} takes the same lye"
    return PotMend(words=words, planned=planned)
