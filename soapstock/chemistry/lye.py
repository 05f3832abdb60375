"""Lye demand of fats, and superfat as an interval.

Lye demand is counted in moles: a fat of saponification value SV takes SV mg KOH per g, or the same
moles of NaOH. Superfat is the share of that demand left unmet. Every figure is an interval because
SV and lye assay are: the lowest superfat has every SV at its low end and the lye at its strongest.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from soapstock.chemistry import molar
from soapstock.chemistry.interval import Interval
from soapstock.errors import BadInput
from soapstock.tables import read_toml

VerdictWord = Literal["safe", "check", "refuse"]
ALL_PERCENT = 100.0
MOST_ASSAY_PERCENT = 101.0  # monographs reach 100.5: titration counts carbonate


@dataclass(frozen=True, slots=True, kw_only=True)
class FatPortion:
    """One portion of fat in the pot, such as what was weighed from one lot.

    Attributes:
        fat: key of the fat.
        mass_g: mass as weighed, g.
        sv: saponification value, mg KOH/g, of the fat as weighed (a certificate's, or the table's).
        acid_value: free acid, mg KOH/g, part of the SV; 0 when unknown.
        moisture_percent: water in the fat; inert, and already inside a certificate SV.
    """

    fat: str
    mass_g: float
    sv: Interval
    acid_value: float = 0.0
    moisture_percent: float = 0.0

    def __post_init__(self) -> None:
        if not 0.0 <= self.mass_g < float("inf"):
            raise BadInput(f"mass of {self.fat} {self.mass_g:g} g is not zero or more")
        if self.sv.low <= 0.0:
            raise BadInput(f"saponification value of {self.fat} {self.sv.low:g} is not above zero")
        if not 0.0 <= self.acid_value <= self.sv.high:
            raise BadInput(f"acid value of {self.fat} {self.acid_value:g} is not within its SV")
        if not 0.0 <= self.moisture_percent < ALL_PERCENT:
            raise BadInput(f"moisture of {self.fat} {self.moisture_percent:g} % is not 0 to 100")


@dataclass(frozen=True, slots=True, kw_only=True)
class Lye:
    """The alkali as weighed, with its assay: % of the weighed mass that is hydroxide."""

    naoh_g: float = 0.0
    koh_g: float = 0.0
    naoh_assay_percent: Interval
    koh_assay_percent: Interval

    def __post_init__(self) -> None:
        for name, mass in (("NaOH", self.naoh_g), ("KOH", self.koh_g)):
            if not 0.0 <= mass < float("inf"):
                raise BadInput(f"mass of {name} {mass:g} g is not zero or more")
        for name, assay in (("NaOH", self.naoh_assay_percent), ("KOH", self.koh_assay_percent)):
            if not 0.0 < assay.low <= assay.high <= MOST_ASSAY_PERCENT:
                raise BadInput(f"assay of {name} {assay.low:g} to {assay.high:g} % is not 0 to 101")

    def equivalents(self) -> Interval:
        """Moles of hydroxide, from the weakest to the strongest assay."""
        naoh, koh = self.naoh_assay_percent, self.koh_assay_percent
        low, nominal, high = (
            self.naoh_g * sodium / 100.0 / molar.NAOH + self.koh_g * potassium / 100.0 / molar.KOH
            for sodium, potassium in (
                (naoh.low, koh.low),
                (naoh.nominal, koh.nominal),
                (naoh.high, koh.high),
            )
        )
        return Interval(low=low, nominal=nominal, high=high)


def default_assay(
    hydroxide: Literal["naoh", "koh"],
    stated_percent: float | None,
    carbonate_percent: float | None = None,
) -> Interval:
    """Share of the weighed lye that saponifies, %, from what its paper says.

    Args:
        hydroxide: which one.
        stated_percent: assay on the paper, or None: then the whole range of the monograph.
        carbonate_percent: sodium carbonate that the paper counts inside the NaOH assay; it is
            taken off. None: up to the pharmacopoeia's limit may hide in it, which only widens the
            low end; the careful, strong end stays.
    """
    rules = read_toml("chemistry/lye.toml")["assay"]
    if stated_percent is None:
        low, nominal, high = (float(x) for x in rules[f"{hydroxide}_unstated_percent"])
    else:
        half = float(rules[f"{hydroxide}_stated_half_width_percent"])
        low, nominal, high = stated_percent - half, stated_percent, stated_percent + half
        high = max(stated_percent, min(high, float(rules["most_percent"])))
    taken_off = (carbonate_percent or 0.0) * molar.NAOH_PER_CARBONATE
    hidden = 0.0
    if hydroxide == "naoh" and carbonate_percent is None:
        hidden = float(rules["naoh_hidden_carbonate_percent"]) * molar.NAOH_PER_CARBONATE
    return Interval(
        low=low - taken_off - hidden, nominal=nominal - taken_off, high=high - taken_off
    )


def lye_demand(portions: Sequence[FatPortion]) -> Interval:
    """Moles of alkali that the fats take up, from all SV low to all SV high."""
    return Interval(
        low=sum(molar.equivalents(p.mass_g, p.sv.low) for p in portions),
        nominal=sum(molar.equivalents(p.mass_g, p.sv.nominal) for p in portions),
        high=sum(molar.equivalents(p.mass_g, p.sv.high) for p in portions),
    )


def superfat_percent(portions: Sequence[FatPortion], lye: Lye) -> Interval:
    """Superfat, % of the lye demand left unmet; negative means lye is left over.

    Low has all SV low and the assay high; high the reverse: exact bounds, no probability in them.

    Raises:
        BadInput: there is no fat.
    """
    demand, alkali = lye_demand(portions), lye.equivalents()
    if demand.low <= 0.0:
        raise BadInput("there is no fat to saponify", hint="give at least one fat its mass")
    return Interval(
        low=100.0 * (1.0 - alkali.high / demand.low),
        nominal=100.0 * (1.0 - alkali.nominal / demand.nominal),
        high=100.0 * (1.0 - alkali.low / demand.high),
    )


def alkali_needed_g(
    portions: Sequence[FatPortion],
    superfat_percent: float,
    *,
    naoh_share: float = 1.0,
    naoh_assay_percent: float,
    koh_assay_percent: float,
) -> tuple[float, float]:
    """NaOH and KOH to weigh, g, that leave the given superfat at the nominal SVs.

    Args:
        portions: the fats.
        superfat_percent: wanted superfat, %, at the nominal SVs and assays.
        naoh_share: fraction 0-1 of the alkali, by moles, that is NaOH.
        naoh_assay_percent: % of the NaOH as weighed that is NaOH.
        koh_assay_percent: % of the KOH as weighed that is KOH.

    Source: NaOH mass = sum(fat mass x SV) / 1000 x M(NaOH)/M(KOH) x (1 - superfat) / assay.

    Raises:
        BadInput: a share, superfat or assay out of range.
    """
    if not 0.0 <= naoh_share <= 1.0:
        raise BadInput(f"NaOH share {naoh_share:g} is not between 0 and 1")
    if not 0.0 <= superfat_percent < ALL_PERCENT:
        raise BadInput(f"superfat {superfat_percent:g} % is not 0 to below 100")
    if min(naoh_assay_percent, koh_assay_percent) <= 0.0:
        raise BadInput("a lye assay is not above zero")
    moles = lye_demand(portions).nominal * (1.0 - superfat_percent / 100.0)
    naoh = moles * naoh_share * molar.NAOH / (naoh_assay_percent / 100.0)
    koh = moles * (1.0 - naoh_share) * molar.KOH / (koh_assay_percent / 100.0)
    return naoh, koh


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """Whether a batch may be poured: `safe`, `check` (look again first) or `refuse`, and why."""

    word: VerdictWord
    reasons: tuple[str, ...]


def span_text(superfat: Interval) -> str:
    """A superfat as it is shown: `4.8 % (0.6 to 10.0 %)`, its low end never safer than it is."""
    return f"{superfat.nominal:.1f} % ({superfat.shown_low:.1f} to {superfat.high:.1f} %)"


def judge_superfat(
    superfat: Interval,
    *,
    without_weighing: Interval | None = None,
    central: Interval | None = None,
) -> Verdict:
    """Verdict on a superfat interval, %.

    `refuse` when lye left over is more likely than not, `check` when the interval allows it or the
    superfat is so high that a figure was likely mistyped, else `safe`. The thresholds are settings
    with their reasons in tables/chemistry/lye.toml.

    Args:
        superfat: the whole interval, weighing errors included wherever masses were weighed.
        without_weighing: the interval of the fats and the lye alone, to tell the two apart.
        central: where 19 pours in 20 lie, to be told beside.
    """
    rules = read_toml("chemistry/lye.toml")["verdict"]
    span = f"superfat {span_text(superfat)}"
    if superfat.nominal < float(rules["refuse_nominal_below_percent"]):
        return Verdict(word="refuse", reasons=(f"lye-heavy: {span}; this soap would burn skin",))
    reasons: list[str] = []
    least = float(rules["check_low_below_percent"])
    if superfat.low < least and without_weighing is not None and without_weighing.low >= least:
        reasons.append(f"lye could be left over by weighing errors: {span}; weigh on a finer scale")
    elif superfat.low < least:
        reasons.append(
            f"lye could be left over if the fats take little or the lye is strong: {span}"
        )
    if superfat.nominal > float(rules["check_nominal_above_percent"]):
        reasons.append(f"much fat stays unsaponified: {span}; check the masses")
    if reasons:
        return Verdict(word="check", reasons=tuple(reasons))
    safe = f"{span}: no lye is left over anywhere in the range"
    if without_weighing is not None:
        safe += ", weighing errors included"
    if central is not None:
        safe += f"; 19 pours in 20 have {central.low:.1f} to {central.high:.1f} %"
    return Verdict(word="safe", reasons=(safe,))
