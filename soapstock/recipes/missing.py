"""A recipe that leaves a fat out: the lye itself says how much more fat it takes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from soapstock.chemistry import molar
from soapstock.chemistry.fats import all_fats
from soapstock.chemistry.lye import FatPortion, Lye, Verdict, lye_demand, superfat_percent
from soapstock.tables import read_toml
from soapstock.units import mass_words


@dataclass(frozen=True, slots=True, kw_only=True)
class MissingFat:
    """Fat that the lye asks for beside what is there, g.

    Attributes:
        least_g: if all of it is the fat that takes most lye, `richest` by its trade name.
        most_g: if all of it is the fat that takes least, `poorest`.
    """

    least_g: float
    most_g: float
    richest: str
    poorest: str


def fat_asked_g(portions: Sequence[FatPortion], lye: Lye, superfat: float) -> MissingFat | None:
    """How much more fat this lye takes, or None when it has enough.

    Args:
        portions: the fats that are there.
        lye: the alkali as weighed.
        superfat: superfat meant, %, at the nominal values of fats and lye.

    Lye demand wanted = lye / (1 - superfat). What is missing of it may be any glyceride: its mass
    lies between that of the highest and that of the lowest saponification value of the tables.
    """
    wanted = lye.equivalents().nominal / (1.0 - superfat / 100.0)
    missing = wanted - lye_demand(portions).nominal
    if missing <= 0.0:
        return None
    glycerides = [fat for fat in all_fats().values() if fat.kind == "glyceride"]
    richest = max(glycerides, key=lambda fat: fat.sv.high)
    poorest = min(glycerides, key=lambda fat: fat.sv.low)
    koh_mg = missing * molar.KOH * molar.MG_PER_G
    return MissingFat(
        least_g=koh_mg / richest.sv.high,
        most_g=koh_mg / poorest.sv.low,
        richest=richest.trade_name,
        poorest=poorest.trade_name,
    )


def with_missing_fat(
    verdict: Verdict, portions: Sequence[FatPortion], lye: Lye, superfat: float
) -> Verdict:
    """The verdict, which also asks whether a fat is missing when the lye is far too much."""
    below = float(read_toml("chemistry/lye.toml")["missing_fat"]["ask_below_percent"])
    asked = None
    if superfat_percent(portions, lye).nominal < below:
        asked = fat_asked_g(portions, lye, superfat)
    if asked is None:
        return verdict
    reason = (
        f"is a fat missing here? for {superfat:g} % superfat this lye takes "
        f"{mass_words(asked.least_g, 0)} ({asked.richest}) to {mass_words(asked.most_g, 0)} "
        f"({asked.poorest}) more fat"
    )
    return Verdict(word=verdict.word, reasons=(*verdict.reasons, reason))
