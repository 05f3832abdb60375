"""How sure a superfat is: exact bounds, a central 95 % figure, and what the width comes from.

Model. Superfat s solves (1 - s) D = A, with D the moles of alkali the fats take (sum of mass x SV)
and A the moles weighed (sum of mass x assay). Every saponification value, assay and mass is taken
as equally likely anywhere in its range: nothing better is known inside a published range. Fats are
independent of each other; portions of one fat with the same range stand or fall together.

For a given s, (1 - s) D - A is a sum of independent uniform parts. Its distribution is written as a
Fourier series on its own support, exact but for the terms left off; setting its 2.5 % and 97.5 %
quantiles to zero gives s. A Monte-Carlo test draws the same figures and agrees.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from soapstock.chemistry import molar
from soapstock.chemistry.fats import all_fats
from soapstock.chemistry.interval import Interval
from soapstock.chemistry.lye import FatPortion, Lye, superfat_percent
from soapstock.errors import BadInput
from soapstock.tables import read_toml

CENTRAL_SHARE = 0.95
TERMS = 64  # of the Fourier series; its rest is far below a printed digit


@dataclass(frozen=True, slots=True, kw_only=True)
class WidthPart:
    """How much one cause can move the superfat either way, in points of %, all else nominal."""

    what: str
    points: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SuperfatStudy:
    """What is known of a superfat, %.

    Attributes:
        nominal: at the usual value of every figure.
        bounds: exact, every range and weighing error at its worst end at once.
        central: 2.5 %, nominal, 97.5 %.
        chance_lye_left: probability 0-1 that lye is left over.
        parts: causes of the width, widest first.
    """

    nominal: float
    bounds: Interval
    central: Interval
    chance_lye_left: float
    parts: tuple[WidthPart, ...]

    def explain(self) -> tuple[str, ...]:
        """The study in plain sentences."""
        low, high = self.bounds.shown_low, self.bounds.high
        lines = [
            f"superfat {self.nominal:.1f} % with every figure at its usual value",
            f"19 pours in 20 lie from {self.central.low:.1f} to {self.central.high:.1f} % "
            "(fats vary independently; all of one fat varies together)",
            f"it cannot leave {low:.1f} to {high:.1f} %, every range and weighing at its worst",
            f"chance that lye is left over: {_percent_words(self.chance_lye_left)}",
        ]
        lines += [f"{part.what} can move it {part.points:.1f} points" for part in self.parts]
        return tuple(lines)


def _percent_words(chance: float) -> str:
    percent = 100.0 * chance
    if percent == 0.0:
        return "none"
    return "under 0.1 %" if percent < 0.1 else f"{percent:.1f} %"  # noqa: PLR2004  printed digit


@dataclass(frozen=True, slots=True, kw_only=True)
class _Uniform:
    """One independent cause: half-width in moles on the fats' side or on the alkali's side."""

    what: str
    fat_side: float
    alkali_side: float


def study_superfat(
    portions: Sequence[FatPortion], lye: Lye, *, scale_step_g: float
) -> SuperfatStudy:
    """Study the superfat of masses as weighed (or as they will be).

    Args:
        portions: the fats.
        lye: the alkali with its assay interval.
        scale_step_g: the scale's step, g; each mass may be off by the steps the settings say.

    Raises:
        BadInput: no fat, or a scale step below zero.
    """
    if not 0.0 <= scale_step_g < float("inf"):
        raise BadInput(f"scale step {scale_step_g:g} g is not zero or more")
    bounds = superfat_percent(portions, lye)
    error_g = scale_step_g * float(read_toml("chemistry/lye.toml")["weighing"]["error_steps"])
    causes = (*_fat_causes(portions, error_g), *_alkali_causes(lye, error_g))
    demand = sum(molar.equivalents(p.mass_g, (p.sv.low + p.sv.high) / 2.0) for p in portions)
    alkali = _middle_alkali(lye)
    taken = sum(c.fat_side for c in causes)
    given = sum(c.alkali_side for c in causes)
    unmet = alkali / demand  # 1 - s at the middle of every range
    waves = _coefficients([c.fat_side * unmet + c.alkali_side for c in causes])
    reach = _quantile(waves, CENTRAL_SHARE)
    nominal = bounds.nominal
    central = Interval(
        low=min(nominal, 100.0 * (1.0 - (alkali + reach * given) / (demand - reach * taken))),
        nominal=nominal,
        high=max(nominal, 100.0 * (1.0 - (alkali - reach * given) / (demand + reach * taken))),
    )
    width = taken + given
    chance = 0.0 if width == 0.0 and demand >= alkali else 1.0
    if width > 0.0:
        chance = _cdf(waves, (alkali - demand) / width)
    return SuperfatStudy(
        nominal=nominal,
        bounds=_with_weighing(portions, lye, error_g),
        central=central,
        chance_lye_left=chance,
        parts=_parts(causes, demand, unmet),
    )


def _fat_causes(portions: Sequence[FatPortion], error_g: float) -> list[_Uniform]:
    groups: dict[tuple[str, Interval], float] = {}
    for portion in portions:
        key = (portion.fat, portion.sv)
        groups[key] = groups.get(key, 0.0) + portion.mass_g
    causes = []
    for (fat, sv), mass_g in groups.items():
        known = all_fats().get(fat)
        half = molar.equivalents(mass_g, (sv.high - sv.low) / 2.0)
        what = f"what {fat.replace('-', ' ')} takes of the lye"  # an acid, or the fat in a milk
        if known is not None:
            what = f"the SV of {known.trade_name} ({sv.low:g} to {sv.high:g})"
        causes.append(_Uniform(what=what, fat_side=half, alkali_side=0.0))
    causes += [
        _Uniform(
            what="weighing",
            fat_side=molar.equivalents(min(error_g, p.mass_g), p.sv.nominal),
            alkali_side=0.0,
        )
        for p in portions
    ]
    return causes


def _alkalis(lye: Lye) -> tuple[tuple[str, float, Interval, float], ...]:
    return (
        ("NaOH", lye.naoh_g, lye.naoh_assay_percent, molar.NAOH),
        ("KOH", lye.koh_g, lye.koh_assay_percent, molar.KOH),
    )


def _middle_alkali(lye: Lye) -> float:
    return sum(
        mass_g * (assay.low + assay.high) / 200.0 / molar_mass
        for _, mass_g, assay, molar_mass in _alkalis(lye)
    )


def _alkali_causes(lye: Lye, error_g: float) -> list[_Uniform]:
    causes = []
    for name, mass_g, assay, molar_mass in _alkalis(lye):
        if mass_g == 0.0:
            continue
        half = mass_g * (assay.high - assay.low) / 200.0 / molar_mass
        error = min(error_g, mass_g) * assay.nominal / 100.0 / molar_mass
        what = f"the assay of {name} ({assay.low:g} to {assay.high:g} %)"
        causes.append(_Uniform(what=what, fat_side=0.0, alkali_side=half))
        causes.append(_Uniform(what="weighing", fat_side=0.0, alkali_side=error))
    return causes


def _with_weighing(portions: Sequence[FatPortion], lye: Lye, error_g: float) -> Interval:
    """Bounds with the masses at their worst as well."""
    demand_low = sum(molar.equivalents(max(p.mass_g - error_g, 0.0), p.sv.low) for p in portions)
    demand_high = sum(molar.equivalents(p.mass_g + error_g, p.sv.high) for p in portions)
    used = [one for one in _alkalis(lye) if one[1] > 0.0]
    most = sum((mass + error_g) * assay.high / 100.0 / m for _, mass, assay, m in used)
    least = sum(max(mass - error_g, 0.0) * assay.low / 100.0 / m for _, mass, assay, m in used)
    if demand_low <= 0.0:
        raise BadInput("the fats weigh less than the scale can tell", hint="use a finer scale")
    nominal = superfat_percent(portions, lye).nominal
    return Interval(
        low=min(nominal, 100.0 * (1.0 - most / demand_low)),
        nominal=nominal,
        high=max(nominal, 100.0 * (1.0 - least / demand_high)),
    )


def _parts(causes: Sequence[_Uniform], demand: float, unmet: float) -> tuple[WidthPart, ...]:
    sums: dict[str, float] = {}
    for cause in causes:
        points = 100.0 * (cause.fat_side * unmet + cause.alkali_side) / demand
        sums[cause.what] = sums.get(cause.what, 0.0) + points
    parts = [WidthPart(what=what, points=points) for what, points in sums.items() if points > 0.0]
    return tuple(sorted(parts, key=lambda part: -part.points))


def _coefficients(halves: Sequence[float]) -> tuple[float, ...]:
    """Fourier coefficients of a sum of independent uniforms, on its own support -1 to 1.

    The density of uniform parts of half-width r (as shares of the sum's) has the coefficients
    prod sin(pi k r) / (pi k r): the characteristic function at the multiples of pi.
    """
    support = sum(halves)
    if support == 0.0:
        return ()
    shares = [half / support for half in halves if half > 0.0]
    found = []
    for k in range(1, TERMS + 1):
        product = 1.0
        for share in shares:
            angle = math.pi * k * share
            product *= math.sin(angle) / angle
        found.append(product)
    return tuple(found)


def _cdf(coefficients: tuple[float, ...], x: float) -> float:
    """P(X <= x) of the sum, x as a share of its support."""
    if abs(x) >= 1.0:
        return 1.0 if x > 0.0 else 0.0
    waves = sum(
        c * math.sin(math.pi * k * x) / (math.pi * k) for k, c in enumerate(coefficients, 1)
    )
    return min(max((x + 1.0) / 2.0 + waves, 0.0), 1.0)


def _quantile(coefficients: tuple[float, ...], share: float) -> float:
    """Half-width, 0-1 of the support, that holds the central share of the sum."""
    low, high = 0.0, 1.0
    for _ in range(30):
        middle = (low + high) / 2.0
        if 2.0 * _cdf(coefficients, middle) - 1.0 < share:
            low = middle
        else:
            high = middle
    return high
