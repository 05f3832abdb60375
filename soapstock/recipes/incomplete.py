"""What an old page of notes can have meant: which kind of lye figure, and how much fat is missing.

A page says so many grams of some fats, a figure for the lye and perhaps one for the water. The lye
may have been noted dry, as a solution, or as a solution whose water is noted beside it again. Each
reading is possible where some superfat of a wide range lets the fats' saponification values, each
anywhere in its range, meet that much lye: the bounds of a linear program in one row, so they are
exact. Nothing here is ever poured: it is history.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache
from typing import Literal, get_args

from soapstock.chemistry import molar
from soapstock.chemistry.fats import all_fats, get_fat
from soapstock.chemistry.lye import FatPortion, default_assay, lye_demand
from soapstock.tables import read_toml

Meaning = Literal["dry", "solution", "solution with its water"]
MEANINGS: tuple[Meaning, ...] = get_args(Meaning)
OTHER = "another fat"  # one that the page does not name at all


@dataclass(frozen=True, slots=True, kw_only=True)
class Noted:
    """The masses of a page, g.

    Attributes:
        fats: mass of each fat named, None where it is not readable or missing.
        lye_g: the figure for lye; None when there is none.
        water_g: the figure for water.
    """

    fats: tuple[tuple[str, float | None], ...]
    lye_g: float | None = None
    water_g: float | None = None

    @property
    def known(self) -> tuple[FatPortion, ...]:
        """The fats with a mass, at the tables' saponification values."""
        return tuple(
            FatPortion(fat=fat, mass_g=mass, sv=get_fat(fat).sv)
            for fat, mass in self.fats
            if mass is not None
        )

    @property
    def missing(self) -> tuple[str, ...]:
        """The fats without a mass."""
        return tuple(fat for fat, mass in self.fats if mass is None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """One way to read a page.

    Attributes:
        naoh_g: dry lye it means, from least to most.
        superfat_percent: bounds of the superfat, when every fat has its mass.
        missing: the fats whose masses are missing; `OTHER` when none is named.
        missing_g: all their masses together, g; None when nothing is missing.
        weight: how usual it is, beside the other readings; only their order means something.
    """

    meaning: Meaning
    naoh_g: tuple[float, float]
    superfat_percent: tuple[float, float] | None
    missing: tuple[str, ...]
    missing_g: tuple[float, float] | None
    weight: float


@dataclass(frozen=True, slots=True)
class _Bounds:
    """Low and high of a positive quantity."""

    low: float
    high: float

    def meets(self, other: _Bounds) -> bool:
        return self.low <= other.high and other.low <= self.high


@cache
def _prior() -> dict[str, float]:
    table = read_toml("chemistry/old_notes.toml")
    low, high = (float(x) / 100 for x in table["superfat_percent"])
    weak, strong = (float(x) / 100 for x in table["strength_percent"])
    share = float(table["most_missing_percent"]) / 100
    return {
        "superfat_low": low,
        "superfat_high": high,
        "weak": weak,
        "strong": strong,
        "most_missing": share / (1 - share),  # beside the mass that is known
        **{
            name: float(table[f"{name}_percent"]) / 100
            for name in ("usual_superfat", "superfat_spread", "usual_strength", "strength_spread")
        },
    }


def readings(noted: Noted) -> tuple[Reading, ...]:
    """Every way in which the page is possible, the most usual first; none without fat or lye.

    Only where no reading holds with the fats it names is one thought of that it does not name.
    """
    if not noted.lye_g or not noted.fats:
        return ()
    missing = noted.missing
    found = [_read(noted, meaning, missing) for meaning in MEANINGS]
    if not any(found) and not missing:
        found = [_read(noted, meaning, (OTHER,)) for meaning in MEANINGS]
    return tuple(sorted(filter(None, found), key=lambda r: -r.weight))


def _naoh(noted: Noted, meaning: Meaning) -> _Bounds | None:
    """Dry lye that a meaning gives, g; None where the water beside it rules the meaning out."""
    prior, lye, water = _prior(), noted.lye_g or 0.0, noted.water_g
    if meaning == "dry":
        strong_enough = not water or prior["weak"] <= lye / (lye + water) <= prior["strong"]
        return _Bounds(lye, lye) if strong_enough else None
    if meaning == "solution":
        return _Bounds(lye * prior["weak"], lye * prior["strong"]) if not water else None
    if not water or water >= lye:
        return None
    dry = lye - water
    return _Bounds(dry, dry) if prior["weak"] <= dry / lye <= prior["strong"] else None


def _read(noted: Noted, meaning: Meaning, missing: tuple[str, ...]) -> Reading | None:
    naoh = _naoh(noted, meaning)
    if naoh is None:
        return None
    prior, assay = _prior(), default_assay("naoh", None)
    alkali = _Bounds(
        naoh.low * assay.low / 100 / molar.NAOH, naoh.high * assay.high / 100 / molar.NAOH
    )
    wanted = _Bounds(
        alkali.low / (1 - prior["superfat_low"]), alkali.high / (1 - prior["superfat_high"])
    )
    portions = noted.known
    demand = lye_demand(portions)
    known = _Bounds(demand.low, demand.high)
    if not missing:
        if not known.meets(wanted):
            return None
        return Reading(
            meaning=meaning,
            naoh_g=(naoh.low, naoh.high),
            superfat_percent=(
                100 * max(prior["superfat_low"], 1 - alkali.high / known.low),
                100 * min(prior["superfat_high"], 1 - alkali.low / known.high),
            ),
            missing=(),
            missing_g=None,
            weight=_usual(naoh, demand.nominal),
        )
    mass = _missing_g(wanted, known, missing)
    there_g = sum(portion.mass_g for portion in portions)
    most = there_g * prior["most_missing"] if there_g else math.inf
    if mass.high <= 0 or mass.low > most:
        return None
    mass = _Bounds(mass.low, min(mass.high, most))
    return Reading(
        meaning=meaning,
        naoh_g=(naoh.low, naoh.high),
        superfat_percent=None,
        missing=missing,
        missing_g=(mass.low, mass.high),
        weight=_usual_share(mass, there_g),
    )


def _missing_g(wanted: _Bounds, known: _Bounds, missing: Sequence[str]) -> _Bounds:
    """Mass of the missing fats together that lets the lye be met."""
    each = _per_gram(missing)
    return _Bounds(
        max(0.0, (wanted.low - known.high) / each.high), (wanted.high - known.low) / each.low
    )


def _per_gram(missing: Sequence[str]) -> _Bounds:
    """Moles of alkali that a gram of the missing fats takes, whichever of them it is."""
    names = [name for name in missing if name != OTHER] or [
        fat.key for fat in all_fats().values() if fat.kind == "glyceride"
    ]
    values = [get_fat(name).sv for name in names]
    return _Bounds(
        molar.equivalents(1.0, min(sv.low for sv in values)),
        molar.equivalents(1.0, max(sv.high for sv in values)),
    )


def _usual(naoh: _Bounds, demand: float) -> float:
    """How usual the lye is for the fats: by its superfat, or by the strength a usual one needs."""
    prior = _prior()
    if naoh.low == naoh.high:
        superfat = 1 - naoh.low * 0.98 / molar.NAOH / demand
        return math.exp(
            -0.5 * ((superfat - prior["usual_superfat"]) / prior["superfat_spread"]) ** 2
        )
    solution_g = naoh.high / prior["strong"]
    strength = demand * (1 - prior["usual_superfat"]) * molar.NAOH / solution_g
    return math.exp(-0.5 * ((strength - prior["usual_strength"]) / prior["strength_spread"]) ** 2)


def _usual_share(mass: _Bounds, there_g: float) -> float:
    """How usual the missing mass is: a fat left out is seldom most of the pot."""
    middle = (mass.low + mass.high) / 2
    return there_g / (there_g + middle) if there_g and math.isfinite(middle) else 0.0


def possible_fats(noted: Noted, mass_g: float) -> tuple[str, ...]:
    """Which fats a mass without a name can have been, so that the page is possible.

    Args:
        mass_g: the mass that stands there without a name.
    """
    if noted.missing or not noted.lye_g:
        return ()

    def possible(key: str) -> bool:
        whole = replace(noted, fats=(*noted.fats, (key, mass_g)))
        return any(_read(whole, meaning, ()) for meaning in MEANINGS)

    return tuple(key for key in all_fats() if possible(key))


def question(noted: Noted, found: Sequence[Reading]) -> str:
    """The one question whose answer settles most; empty when nothing is open."""
    if not noted.fats:
        return "Which fats went in, and how much of each?"
    if noted.lye_g is None:
        return "How much lye went in?"
    if not found:
        return "Which of the masses is wrong, or what else went in? No pour can have had these."
    missing = found[0].missing
    if missing:
        if missing == (OTHER,):
            return "Which fat was left out, and how much of it?"
        if len(missing) == 1:
            return f"How much {missing[0]} went in?"  # settles what the lye was too
        return f"How much of each went in: {', '.join(missing)}?"
    if len(found) > 1:
        return f"Was the {noted.lye_g:g} g of lye dry, or a solution?"
    return ""
