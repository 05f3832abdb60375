"""Fats as the tables and the shop know them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from soapstock.chemistry.fats import all_fats, get_fat
from soapstock.chemistry.profiles import iodine_value, profiles_of, saponification_value

if TYPE_CHECKING:
    from soapstock.chemistry.fats import SourcedRange
    from soapstock.chemistry.interval import Interval
    from soapstock.chemistry.profiles import Profile


@dataclass(frozen=True, slots=True, kw_only=True)
class FatRow:
    """A fat in the list of them: its saponification value, mg KOH/g, and its label names."""

    fat: str
    name: str
    sv_low: float
    sv_high: float
    confidence: str
    inci: str
    sodium_salt: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class FigureRow:
    """A published range of one figure; None at an end the source leaves open."""

    figure: str
    low: float | None
    high: float | None
    unit: str
    source: str
    confidence: str
    chosen: bool
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ProfileRow:
    """A published profile: each acid from, to, % of the acids, and the figures it gives."""

    profile: str
    acids_percent: Mapping[str, tuple[float, float]]
    computed_sv: float
    computed_iodine_value: float
    source: str
    confidence: str


@dataclass(frozen=True, slots=True, kw_only=True)
class FatSheet:
    """All that is known of one fat."""

    fat: str
    name: str
    kind: str
    inci: str
    inci_us: str
    sodium_salt: str | None
    potassium_salt: str | None
    names_confidence: str
    sv: Interval
    figures: tuple[FigureRow, ...]
    profiles: tuple[ProfileRow, ...]
    note: str


def list_fats() -> list[FatRow]:
    """Every fat of the tables and the shop."""
    return [
        FatRow(
            fat=fat.key,
            name=fat.trade_name,
            sv_low=fat.sv.low,
            sv_high=fat.sv.high,
            confidence=fat.sv_confidence,
            inci=fat.inci,
            sodium_salt=fat.sodium_salt,
        )
        for fat in all_fats().values()
    ]


def fat_sheet(key: str) -> FatSheet:
    """All that is known of one fat.

    Raises:
        NotFound: no such fat; offers the nearest.
    """
    fat = get_fat(key.strip().lower())
    return FatSheet(
        fat=fat.key,
        name=fat.trade_name,
        kind=fat.kind,
        inci=fat.inci,
        inci_us=fat.inci_us,
        sodium_salt=fat.sodium_salt,
        potassium_salt=fat.potassium_salt,
        names_confidence=fat.names_confidence,
        sv=fat.sv,
        figures=tuple(map(_figure, (*fat.sv_ranges, *fat.figures))),
        profiles=tuple(map(_profile, profiles_of(fat.key))),
        note=fat.note,
    )


def _figure(row: SourcedRange) -> FigureRow:
    return FigureRow(
        figure=row.figure,
        low=row.low,
        high=row.high,
        unit=row.unit,
        source=row.source,
        confidence=row.confidence,
        chosen=row.chosen,
        why=row.why,
    )


def _profile(profile: Profile) -> ProfileRow:
    fractions = profile.fractions()
    return ProfileRow(
        profile=profile.label,
        acids_percent=profile.ranges,
        computed_sv=saponification_value(fractions),
        computed_iodine_value=iodine_value(fractions),
        source=profile.source,
        confidence=profile.confidence,
    )
